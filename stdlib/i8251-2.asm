; i8251-2.asm   Characters through a second Intel 8251, without interrupts.
;
; Purpose       A program that talks to two devices, over chips of one kind or of two: what i8251.asm has as SER... has
;               the names SR2... here, and so stands beside any of mc6850.asm, i8251.asm and uart.asm.
; Define first  SR2ST   port of status and control
;               SR2DT   port of the data
;               SR2MOD  mode byte: 316Q = 8N2, 116Q = 8N1, both with a clock of 16 times the speed
; Source        Intel 8251 data sheet: three zero bytes bring the chip from any state to where it takes a command;
;               the command 100Q resets it, and the mode byte follows.
;
; routine  entry           exit                      destroys   bytes  T-states
; SR2INI   -               chip ready                A, flags      20  95
; SR2TST   -               zero flag: none waits     A, flags       5  27
; SR2IN    -               A = character             A, flags      10  47, and 27 a turn of waiting
; SR2OUT   A = character   sent                      -             12  68, and 27 a turn of waiting
; T-states include the RET, not the CALL.

SR2INI: XRA     A
        OUT     SR2ST
        OUT     SR2ST
        OUT     SR2ST
        MVI     A,100Q          ; internal reset
        OUT     SR2ST
        MVI     A,SR2MOD
        OUT     SR2ST
        MVI     A,67Q           ; RTS, errors cleared, receiver, DTR, transmitter
        OUT     SR2ST
        RET

SR2TST: IN      SR2ST
        ANI     2               ; bit 1: receiver ready
        RET

SR2IN:  IN      SR2ST
        ANI     2
        JZ      SR2IN
        IN      SR2DT
        RET

SR2OUT: PUSH    PSW
SR2OU1: IN      SR2ST
        ANI     1               ; bit 0: transmitter ready
        JZ      SR2OU1
        POP     PSW
        OUT     SR2DT
        RET
