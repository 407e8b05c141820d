; xor8.asm      The exclusive or of bytes: even parity along each track of a tape.
;
; Purpose       Finds every wrong bit in a single track, and misses two in the same one.
; Source        ISO 1155, longitudinal parity.
;
; routine  entry           exit                      destroys   bytes  T-states
; XOR8     HL = block      A = D = check             A, flags      14  22 + 45 a byte
;          BC = bytes, 0 for 65536                   BC = 0, HL behind the end
; T-states include the RET, not the CALL.

XOR8:   MVI     D,0
XOR81:  MOV     A,M
        XRA     D
        MOV     D,A
        INX     H
        DCX     B
        MOV     A,B
        ORA     C
        JNZ     XOR81
        MOV     A,D
        RET
