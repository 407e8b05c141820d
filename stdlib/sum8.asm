; sum8.asm      The sum of bytes, modulo 256.
;
; Purpose       The check of the framing `bare` and of Intel HEX records is this sum negated (CMA, INR A); that of
;               S-records is its complement (CMA). The framing `blocks` has another check: fletcher.asm.
;
; routine  entry           exit                      destroys   bytes  T-states
; SUM8     HL = block      A = D = sum               A, flags      14  22 + 45 a byte
;          BC = bytes, 0 for 65536                   BC = 0, HL behind the end
; T-states include the RET, not the CALL.

SUM8:   MVI     D,0
SUM81:  MOV     A,M
        ADD     D
        MOV     D,A
        INX     H
        DCX     B
        MOV     A,B
        ORA     C
        JNZ     SUM81
        MOV     A,D
        RET
