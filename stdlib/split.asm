; split.asm     A word in split octal: two bytes of three digits, a blank between.
;
; Purpose       Addresses as panels with split octal switches show them, on a terminal.
; Include first one of mc6850.asm, i8251.asm, uart.asm, for SEROUT, and octal.asm, for OCTOUT.
;
; routine  entry           exit                      destroys   bytes  T-states
; SPLWRD   HL = word       seven characters sent     A, flags      13  873 with nothing to wait for; HL stays
; T-states include the RET, not the CALL.

SPLWRD: MOV     A,H
        CALL    OCTOUT
        MVI     A,' '
        CALL    SEROUT
        MOV     A,L
        JMP     OCTOUT
