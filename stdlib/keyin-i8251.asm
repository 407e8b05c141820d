; keyin-i8251.asm   Key-in loader for the framing `bare`, on an Intel 8251: 24 bytes to toggle.
;
; Purpose       Sets up the chip, reads one page of memory from a tape and starts what it holds. It may be started
;               anywhere in the leader: blank tape has one falling edge a character, so that the chip finds the start bits.
;               The chip must have been reset by the panel's RESET: it then takes the first byte as its mode.
; Define first  KIPAGE  the page, 0 to 377Q: the high byte of all its addresses
;               SERST   port of status and control
;               SERDT   port of the data
;
; routine  entry           exit                      destroys   bytes  T-states
; KEYIN    -               at the entry of what was  A, HL,        24  41 and 59 a character
;                          loaded                    flags
; No stack is used.
;
; How it works  See keyin-uart.asm; the tape is the same. The mode 116Q is 8N1 with a clock of 16 times the speed; a
;               receiver looks at the first stop bit only, so it hears a line of two stop bits as well. Turned right by one bit
;               it is 47Q, the command for receiver, transmitter, DTR and RTS.
; Why no smaller  The 17 bytes of keyin-uart.asm, and a mode and a command, of which the second costs one byte to make.

        ORG     KIPAGE SHL 8 + 1
KEYIN:  MVI     A,116Q          ; mode
        OUT     SERST
        RRC                     ; 47Q: command
        OUT     SERST
        LXI     H,KISTEP
KISTEP: NOP                     ; the tape makes this DCR L
KIPOLL: IN      SERST
        ANI     2               ; bit 1: receiver ready
        JZ      KIPOLL
        IN      SERDT
        MOV     M,A
        JMP     KISTEP          ; the tape makes this a jump to the entry
