; uart.asm      Characters through a hard-wired UART, whose status pins a board wires to any bits.
;
; Purpose       The four routines SERINI, SERTST, SERIN and SEROUT have the same names, entries and exits for every
;               chip of this library.
; Define first  SERST   port of the status
;               SERDT   port of the data
;               SERRX   mask of the bit for "a character waits" (DAV)
;               SERTX   mask of the bit for "the buffer is empty" (TBMT)
;               SERLOW  mask of those of the two bits that are 0 for yes; 0 if none is
; Source        General Instrument AY-5-1013 and Western Digital TR1602 data sheets: reading the data resets DAV.
;
; routine  entry           exit                      destroys   bytes  T-states
; SERINI   -               nothing old waits         A              3  20
; SERTST   -               zero flag: none waits     A, flags       5  27   (7 and 34 if the bit is 0 for yes)
; SERIN    -               A = character             A, flags      10  47, and 27 a turn of waiting
; SEROUT   A = character   sent                      -             12  68, and 27 a turn of waiting
; T-states include the RET, not the CALL.

SERINI: IN      SERDT           ; takes what has waited since power-on
        RET

SERTST: IN      SERST
        IF      (SERRX AND SERLOW) NE 0
        XRI     SERRX
        ENDIF
        ANI     SERRX
        RET

SERIN:  IN      SERST
        ANI     SERRX
        IF      (SERRX AND SERLOW) NE 0
        JNZ     SERIN
        ELSE
        JZ      SERIN
        ENDIF
        IN      SERDT
        RET

SEROUT: PUSH    PSW
SEROU1: IN      SERST
        ANI     SERTX
        IF      (SERTX AND SERLOW) NE 0
        JNZ     SEROU1
        ELSE
        JZ      SEROU1
        ENDIF
        POP     PSW
        OUT     SERDT
        RET
