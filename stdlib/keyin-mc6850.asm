; keyin-mc6850.asm  Key-in loader for the framing `bare`, on a Motorola MC6850: 25 bytes to toggle.
;
; Purpose       Sets up the chip, reads one page of memory from a tape and starts what it holds. It may be started
;               anywhere in the leader: blank tape has one falling edge a character, so that the chip finds the start bits.
; Define first  KIPAGE  the page, 0 to 377Q: the high byte of all its addresses
;               SERST   port of status and control
;               SERDT   port of the data
;               SERFMT  control byte: 21Q = 8N2, 25Q = 8N1, both with a clock of 16 times the speed
;
; routine  entry           exit                      destroys   bytes  T-states
; KEYIN    -               at the entry of what was  A, HL,        25  44 and 59 a character
;                          loaded                    flags
; No stack is used.
;
; How it works  See keyin-uart.asm; the tape is the same. The first eight bytes are done when the first byte of the
;               tape falls on them.
; Why no smaller  The 17 bytes of keyin-uart.asm, and a master reset and a format, each two instructions of two bytes. With 43Q
;               for the reset and RRC for the format (221Q) it would be 24, with the receive interrupt switched on.

        ORG     KIPAGE SHL 8
KEYIN:  MVI     A,3             ; master reset
        OUT     SERST
        MVI     A,SERFMT
        OUT     SERST
        LXI     H,KISTEP
KISTEP: NOP                     ; the tape makes this DCR L
KIPOLL: IN      SERST
        ANI     1               ; bit 0: receive data register full
        JZ      KIPOLL
        IN      SERDT
        MOV     M,A
        JMP     KISTEP          ; the tape makes this a jump to the entry
