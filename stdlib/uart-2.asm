; uart-2.asm    Characters through a second hard-wired UART.
;
; Purpose       A program that talks to two devices, over chips of one kind or of two: what uart.asm has as SER... has
;               the names SR2... here, and so stands beside any of mc6850.asm, i8251.asm and uart.asm.
; Define first  SR2ST   port of the status
;               SR2DT   port of the data
;               SR2RX   mask of the bit for "a character waits" (DAV)
;               SR2TX   mask of the bit for "the buffer is empty" (TBMT)
;               SR2LOW  mask of those of the two bits that are 0 for yes; 0 if none is
; Source        General Instrument AY-5-1013 and Western Digital TR1602 data sheets: reading the data resets DAV.
;
; routine  entry           exit                      destroys   bytes  T-states
; SR2INI   -               nothing old waits         A              3  20
; SR2TST   -               zero flag: none waits     A, flags       5  27   (7 and 34 if the bit is 0 for yes)
; SR2IN    -               A = character             A, flags      10  47, and 27 a turn of waiting
; SR2OUT   A = character   sent                      -             12  68, and 27 a turn of waiting
; T-states include the RET, not the CALL.

SR2INI: IN      SR2DT           ; takes what has waited since power-on
        RET

SR2TST: IN      SR2ST
        IF      (SR2RX AND SR2LOW) NE 0
        XRI     SR2RX
        ENDIF
        ANI     SR2RX
        RET

SR2IN:  IN      SR2ST
        ANI     SR2RX
        IF      (SR2RX AND SR2LOW) NE 0
        JNZ     SR2IN
        ELSE
        JZ      SR2IN
        ENDIF
        IN      SR2DT
        RET

SR2OUT: PUSH    PSW
SR2OU1: IN      SR2ST
        ANI     SR2TX
        IF      (SR2TX AND SR2LOW) NE 0
        JNZ     SR2OU1
        ELSE
        JZ      SR2OU1
        ENDIF
        POP     PSW
        OUT     SR2DT
        RET
