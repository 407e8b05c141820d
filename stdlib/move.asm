; move.asm      A block of memory to another place.
;
; Purpose       Upwards byte by byte: right for blocks apart, and for a block that moves down onto itself.
;
; routine  entry           exit                      destroys   bytes  T-states
; MOVE     DE = source     HL, DE behind the ends    A, flags      11  10 + 48 a byte
;          HL = target     BC = 0
;          BC = bytes, 0 for 65536
; T-states include the RET, not the CALL.

MOVE:   LDAX    D
        MOV     M,A
        INX     D
        INX     H
        DCX     B
        MOV     A,B
        ORA     C
        JNZ     MOVE
        RET
