; fill.asm      One byte all over a block of memory.
;
; Purpose       Clearing memory that holds noise.
;
; routine  entry           exit                      destroys   bytes  T-states
; FILL     HL = block      HL behind the end         A, flags       9  10 + 36 a byte
;          BC = bytes, 0 for 65536                   BC = 0
;          E = the byte
; T-states include the RET, not the CALL.

FILL:   MOV     M,E
        INX     H
        DCX     B
        MOV     A,B
        ORA     C
        JNZ     FILL
        RET
