; i8251.asm     Characters through an Intel 8251, without interrupts.
;
; Purpose       The four routines SERINI, SERTST, SERIN and SEROUT have the same names, entries and exits for every
;               chip of this library.
; Define first  SERST   port of status and control
;               SERDT   port of the data
;               SERMOD  mode byte: 316Q = 8N2, 116Q = 8N1, both with a clock of 16 times the speed
; Source        Intel 8251 data sheet: three zero bytes bring the chip from any state to where it takes a command;
;               the command 100Q resets it, and the mode byte follows.
;
; routine  entry           exit                      destroys   bytes  T-states
; SERINI   -               chip ready                A, flags      20  95
; SERTST   -               zero flag: none waits     A, flags       5  27
; SERIN    -               A = character             A, flags      10  47, and 27 a turn of waiting
; SEROUT   A = character   sent                      -             12  68, and 27 a turn of waiting
; T-states include the RET, not the CALL.

SERINI: XRA     A
        OUT     SERST
        OUT     SERST
        OUT     SERST
        MVI     A,100Q          ; internal reset
        OUT     SERST
        MVI     A,SERMOD
        OUT     SERST
        MVI     A,67Q           ; RTS, errors cleared, receiver, DTR, transmitter
        OUT     SERST
        RET

SERTST: IN      SERST
        ANI     2               ; bit 1: receiver ready
        RET

SERIN:  IN      SERST
        ANI     2
        JZ      SERIN
        IN      SERDT
        RET

SEROUT: PUSH    PSW
SEROU1: IN      SERST
        ANI     1               ; bit 0: transmitter ready
        JZ      SEROU1
        POP     PSW
        OUT     SERDT
        RET
