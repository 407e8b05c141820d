; crc16.asm     A cyclic check of 16 bits with the polynomial 1021H, high bit first.
;
; Purpose       Finds every burst of up to 16 wrong bits. With 0 to start it is CRC-16/XMODEM, with 0FFFFH
;               CRC-16/IBM-3740.
; Source        W. W. Peterson and D. T. Brown, "Cyclic Codes for Error Detection", Proc. IRE 49, 1961.
;
; routine  entry           exit                      destroys   bytes  T-states
; CRC16    HL = start      HL = check                A, flags      32  490 a byte or so, 625 at most
;          DE = block      DE behind the end
;          BC = bytes, 0 for 65536                   BC = 0
; T-states include the RET, not the CALL.

CRC16:  LDAX    D
        XRA     H
        MOV     H,A
        PUSH    B
        MVI     B,8
CRC161: DAD     H               ; the top bit to the carry
        JNC     CRC162
        MOV     A,H
        XRI     10H
        MOV     H,A
        MOV     A,L
        XRI     21H
        MOV     L,A
CRC162: DCR     B
        JNZ     CRC161
        POP     B
        INX     D
        DCX     B
        MOV     A,B
        ORA     C
        JNZ     CRC16
        RET
