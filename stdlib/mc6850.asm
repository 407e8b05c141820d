; mc6850.asm    Characters through a Motorola MC6850, without interrupts.
;
; Purpose       The four routines SERINI, SERTST, SERIN and SEROUT have the same names, entries and exits for every
;               chip of this library, so that a program need not know which one it talks to.
; Define first  SERST   port of status and control
;               SERDT   port of the data
;               SERFMT  control byte: 21Q = 8N2, 25Q = 8N1, both with a clock of 16 times the speed
; Source        Motorola MC6850 data sheet: control and status registers, master reset before the first format.
;
; routine  entry           exit                      destroys   bytes  T-states
; SERINI   -               chip ready                A              9  44
; SERTST   -               zero flag: none waits     A, flags       5  27
; SERIN    -               A = character             A, flags       9  44, and 24 a turn of waiting
; SEROUT   A = character   sent                      -             12  68, and 27 a turn of waiting
; T-states include the RET, not the CALL.

SERINI: MVI     A,3             ; master reset
        OUT     SERST
        MVI     A,SERFMT
        OUT     SERST
        RET

SERTST: IN      SERST
        ANI     1               ; bit 0: receive data register full
        RET

SERIN:  IN      SERST
        RRC                     ; bit 0 to the carry
        JNC     SERIN
        IN      SERDT
        RET

SEROUT: PUSH    PSW
SEROU1: IN      SERST
        ANI     2               ; bit 1: transmit data register empty
        JZ      SEROU1
        POP     PSW
        OUT     SERDT
        RET
