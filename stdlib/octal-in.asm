; octal-in.asm  A number that someone types in octal digits.
;
; Purpose       Addresses and bytes for a program on a terminal, as they stand on the sheets.
; Include first one of mc6850.asm, i8251.asm, uart.asm, for SERIN and SEROUT.
;
; routine  entry           exit                      destroys   bytes  T-states
; OCTIN    -               HL = number, modulo       B, C,      35     126 a digit, and 112
;                          65536; A = the character  flags
;                          behind it; carry: there
;                          was no digit
; Every character is echoed. T-states include the RET, not the CALL and not those of SERIN and SEROUT.

OCTIN:  LXI     H,0
        MOV     B,H             ; no digit yet
OCTIN1: CALL    SERIN
        ANI     177Q            ; without parity
        CALL    SEROUT
        MOV     C,A
        SUI     '0'
        CPI     8
        JNC     OCTIN2
        DAD     H
        DAD     H
        DAD     H
        ORA     L               ; the low three bits are zero
        MOV     L,A
        MVI     B,1
        JMP     OCTIN1
OCTIN2: MOV     A,B
        CPI     1               ; carry: none came
        MOV     A,C
        RET
