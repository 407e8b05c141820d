; vectors.asm   Runs by interrupts: short routines at their places, a ring of characters, a table by class, packed texts.
SERST   EQU     211Q
SERDT   EQU     210Q
        ORG     0
        JMP     INIT
        DB      0,0,0,0,0
        JMP     UPTIME
        DB      0,0,0,0,0
        EI
        RET
        DB      0,0,0,0,0,0
        JMP     RXINT
        DB      0,0,0,0,0
        RET
        DB      0,0,0,0,0,0,0
        RET
        DB      0,0,0,0,0,0,0
        RET
        DB      0,0,0,0,0,0,0
        RET
        DB      0,0,0,0,0,0,0
INIT:   LXI     SP,800H
        LXI     H,RING
        SHLD    HEAD
        SHLD    TAIL
        XRA     A
        STA     COUNT
        EI
MAIN:   LDA     COUNT
        ORA     A
        JZ      MAIN
        CALL    TAKE
        CPI     20H
        JC      CTRL
        CALL    PUTC
        JMP     MAIN
CTRL:   MOV     E,A
        MVI     D,0
        LXI     H,CLASS
        DAD     D
        MOV     A,M
        ADD     A
        MOV     E,A
        LXI     H,ACTS
        DAD     D
        MOV     E,M
        INX     H
        MOV     D,M
        LXI     H,MAIN
        PUSH    H
        PUSH    D
        RET
CLASS:  DB      0,0,0,1,0,0,0,2,3,4,5,0,0,5,0,0
        DB      0,0,0,0,0,1,0,0,1,0,0,0,0,0,0,0
ACTS:   DW      IGNORE,STOPIT,BELL,BACK,TAB,NEWLN
IGNORE: RET
STOPIT: DI
        LXI     H,MSTOP
        CALL    PACK
        HLT
BELL:   MVI     A,7
        JMP     PUTC
BACK:   MVI     A,8
        CALL    PUTC
        MVI     A,' '
        CALL    PUTC
        MVI     A,8
        JMP     PUTC
TAB:    MVI     B,8
TAB1:   MVI     A,' '
        CALL    PUTC
        DCR     B
        JNZ     TAB1
        RET
NEWLN:  MVI     A,13
        CALL    PUTC
        MVI     A,10
PUTC:   PUSH    PSW
PUT1:   IN      SERST
        RAR
        JNC     PUT1
        POP     PSW
        OUT     SERDT
        RET
TAKE:   DI
        LHLD    TAIL
        MOV     A,M
        CALL    BUMP
        SHLD    TAIL
        LXI     H,COUNT
        DCR     M
        EI
        RET
BUMP:   INR     L
        MVI     H,RING SHR 8
        RET
RXINT:  PUSH    PSW
        PUSH    H
        LDA     COUNT
        CPI     0FFH
        JZ      FULL
        LHLD    HEAD
        IN      SERDT
        MOV     M,A
        CALL    BUMP
        SHLD    HEAD
        LXI     H,COUNT
        INR     M
RXOUT:  POP     H
        POP     PSW
        EI
        RET
FULL:   IN      SERDT
        MVI     A,7
        OUT     SERDT
        JMP     RXOUT
UPTIME: PUSH    PSW
        LDA     SECS
        ADI     1
        DAA
        STA     SECS
        CPI     60H
        JNZ     UP1
        XRA     A
        STA     SECS
UP1:    POP     PSW
        EI
        RET
PACK:   MOV     A,M
        RLC
        PUSH    PSW
        STC
        CMC
        RAR
        CALL    PUTC
        POP     PSW
        INX     H
        JNC     PACK
        RET
MSTOP:  DB      'STOPPED BY HAN','D'+128
RING    EQU     700H
HEAD    EQU     640H
TAIL    EQU     642H
COUNT   EQU     644H
SECS    EQU     645H
        END     INIT
