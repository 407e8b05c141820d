; mc6850-2.asm  Characters through a second Motorola MC6850, without interrupts.
;
; Purpose       A program that talks to two devices, over chips of one kind or of two: what mc6850.asm has as SER... has
;               the names SR2... here, and so stands beside any of mc6850.asm, i8251.asm and uart.asm.
; Define first  SR2ST   port of status and control
;               SR2DT   port of the data
;               SR2FMT  control byte: 21Q = 8N2, 25Q = 8N1, both with a clock of 16 times the speed
; Source        Motorola MC6850 data sheet: control and status registers, master reset before the first format.
;
; routine  entry           exit                      destroys   bytes  T-states
; SR2INI   -               chip ready                A              9  44
; SR2TST   -               zero flag: none waits     A, flags       5  27
; SR2IN    -               A = character             A, flags       9  44, and 24 a turn of waiting
; SR2OUT   A = character   sent                      -             12  68, and 27 a turn of waiting
; T-states include the RET, not the CALL.

SR2INI: MVI     A,3             ; master reset
        OUT     SR2ST
        MVI     A,SR2FMT
        OUT     SR2ST
        RET

SR2TST: IN      SR2ST
        ANI     1               ; bit 0: receive data register full
        RET

SR2IN:  IN      SR2ST
        RRC                     ; bit 0 to the carry
        JNC     SR2IN
        IN      SR2DT
        RET

SR2OUT: PUSH    PSW
SR2OU1: IN      SR2ST
        ANI     2               ; bit 1: transmit data register empty
        JZ      SR2OU1
        POP     PSW
        OUT     SR2DT
        RET
