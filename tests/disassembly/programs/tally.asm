; tally.asm     RST with texts and letters behind it, a routine that takes an address behind its CALL, digits by DAA.

LAMPS   EQU     156Q
KEYS    EQU     60Q
        ORG     0
        JMP     BEGIN
        DS      5
        XTHL                    ; RST 1: text behind it
        JMP     TYPE
        DS      4
        XTHL                    ; RST 2: compare A with byte behind, skip
        CMP     M
        INX     H
        XTHL
        RET
        DS      3
        PUSH    B               ; RST 3: nibble
        MOV     B,A
        RRC
        RRC
        JMP     NIB
BEGIN:  LXI     SP,1000H
        RST     1
        DB      'READY TO COUNT',13,10,0
B1:     IN      KEYS
        RST     2
        DB      'U'
        JZ      UP
        RST     2
        DB      'D'
        JZ      DN
        RST     2
        DB      1BH
        JNZ     B1
        RST     1
        DB      'END',0
        HLT
UP:     LXI     H,VAL
        INR     M
        MOV     A,M
        RST     3
        JMP     B1
DN:     LXI     H,VAL
        DCR     M
        JP      DN1
        CALL    SAYW
        DW      NEGS
DN1:    MOV     A,M
        RST     3
        JMP     B1
NIB:    RRC
        RRC
        CALL    NIB1
        MOV     A,B
        CALL    NIB1
        POP     B
        RET
NIB1:   ANI     15
        ADI     90H
        DAA
        ACI     40H
        DAA
        OUT     LAMPS
        RET
TYPE:   PUSH    PSW
TY1:    MOV     A,M
        INX     H
        ORA     A
        JZ      TY2
        OUT     LAMPS
        JMP     TY1
TY2:    POP     PSW
        XTHL
        RET
SAYW:   XTHL
        MOV     E,M
        INX     H
        MOV     D,M
        INX     H
        XTHL
        XCHG
SW1:    MOV     A,M
        ORA     A
        JZ      SW2
        OUT     LAMPS
        INX     H
        JMP     SW1
SW2:    XCHG
        RET
NEGS:   DB      'below zero ',0
VAL     EQU     900H
        END     BEGIN
