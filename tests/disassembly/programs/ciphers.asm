; ciphers.asm   Decimal arithmetic in memory, with tables of constants, a font of seven segments and a curve.

LAMPS   EQU     156Q
KEYS    EQU     60Q

        ORG     800H
MAIN:   LXI     SP,0C00H
        CALL    ZERO
MAIN1:  CALL    KEY
        CPI     10
        JC      DIGIT
        CPI     10
        JZ      PLUS
        CPI     11
        JZ      HALVE
        CPI     12
        JZ      WAVE
        JMP     MAIN

DIGIT:  LXI     H,ENTRY+3
        MVI     C,4             ; four times to the left by a bit, and the digit in
        MOV     B,A
DIGIT1: PUSH    H
        MVI     D,4
        ORA     A
DIGIT2: MOV     A,M
        RAL
        MOV     M,A
        DCX     H
        DCR     D
        JNZ     DIGIT2
        POP     H
        DCR     C
        JNZ     DIGIT1
        MOV     A,M
        ANI     360Q
        ORA     B
        MOV     M,A
        CALL    SHOW
        JMP     MAIN1

PLUS:   LXI     D,ENTRY+3
        LXI     H,TOTAL+3
        MVI     C,4
        ORA     A
PLUS1:  LDAX    D
        ADC     M
        DAA
        MOV     M,A
        DCX     D
        DCX     H
        DCR     C
        JNZ     PLUS1
        CC      OVER
        CALL    SHOW
        JMP     MAIN1

HALVE:  LHLD    TOTAL
        MOV     A,H
        RAR
        MOV     H,A
        MOV     A,L
        RAR
        MOV     L,A
        SHLD    TOTAL
        JMP     MAIN1

OVER:   MVI     A,377Q
        OUT     LAMPS
        RET

WAVE:   LXI     H,CURVE
        MVI     B,WAVEND-CURVE
WAVE1:  MOV     A,M
        OUT     LAMPS
        INX     H
        DCR     B
        JNZ     WAVE1
        JMP     MAIN1

ZERO:   LXI     H,ENTRY
        MVI     C,8
        XRA     A
ZERO1:  MOV     M,A
        INX     H
        DCR     C
        JNZ     ZERO1
        RET

KEY:    IN      KEYS
        ORA     A
        JP      KEY
        ANI     17Q
        MOV     B,A
KEY1:   IN      KEYS
        ORA     A
        JM      KEY1
        MOV     A,B
        RET

SHOW:   LXI     H,TOTAL
        MVI     C,4
SHOW1:  MOV     A,M
        RRC
        RRC
        RRC
        RRC
        CALL    GLYPH
        MOV     A,M
        CALL    GLYPH
        INX     H
        DCR     C
        JNZ     SHOW1
        RET
GLYPH:  ANI     17Q
        PUSH    H
        LXI     H,FONT
        ADD     L
        MOV     L,A
        MOV     A,H
        ACI     0
        MOV     H,A
        MOV     A,M
        OUT     LAMPS
        POP     H
        RET

FONT:   DB      77H,41H,3BH,6BH,4DH,6EH,7EH,43H,7FH,6FH,5FH,7CH,36H,79H,3EH,1EH
CURVE:  DB      128,152,176,198,218,234,245,253,255,253,245,234,218,198,176,152
        DB      128,103,79,57,37,21,10,2,0,2,10,21,37,57,79,103
WAVEND  EQU     $
TENS:   DW      10000,1000,100,10,1
        DB      0,0,0,0

; Never called: binary to decimal by the table.
DECIMAL: LXI    D,TENS
DECI1:  LDAX    D
        MOV     C,A
        INX     D
        LDAX    D
        MOV     B,A
        INX     D
        MVI     A,'0'-1
DECI2:  INR     A
        PUSH    H
        MOV     A,L
        SUB     C
        MOV     L,A
        MOV     A,H
        SBB     B
        MOV     H,A
        XTHL
        POP     H
        JNC     DECI2
        DAD     B
        OUT     LAMPS
        MOV     A,C
        DCR     A
        JNZ     DECI1
        RET

ENTRY   EQU     0B00H
TOTAL   EQU     0B04H
        END     MAIN
