; grid.asm      Cells that live and die on a board of 8 by 8, with tables of neighbours and a start drawn in bits.

LAMPS   EQU     156Q
KEYS    EQU     60Q

        ORG     1000H
        JMP     START
TITLE1: DB      'GRID 1',0
SEED:   DB      00011000B,00100100B,01000010B,10000001B,10000001B,01000010B,00100100B,00011000B
AROUND: DB      -9,-8,-7,-1,1,7,8,9

START:  LXI     SP,1800H
        CALL    FILLUP
TURN:   CALL    DRAW
        CALL    BREED
        CALL    SWAP
        IN      KEYS
        RRC
        JNC     TURN
        JMP     START

FILLUP: LXI     D,SEED
        LXI     H,BOARD
        MVI     B,8
FILL1:  LDAX    D
        MVI     C,8
FILL2:  RLC
        PUSH    PSW
        ANI     1
        MOV     M,A
        POP     PSW
        INX     H
        DCR     C
        JNZ     FILL2
        INX     D
        DCR     B
        JNZ     FILL1
        RET

DRAW:   LXI     H,BOARD
        MVI     B,8
DRAW1:  MVI     C,8
        XRA     A
DRAW2:  RLC
        ORA     M
        INX     H
        DCR     C
        JNZ     DRAW2
        OUT     LAMPS
        DCR     B
        JNZ     DRAW1
        RET

BREED:  LXI     H,BOARD
        MVI     B,64
BREED1: PUSH    B
        CALL    COUNT
        MOV     A,M
        ORA     A
        MOV     A,D
        JZ      EMPTY
        CPI     2
        JZ      LIVES
EMPTY:  CPI     3
        JZ      LIVES
        MVI     A,0
        JMP     NOTE
LIVES:  MVI     A,1
NOTE:   LXI     B,64
        PUSH    H
        DAD     B
        MOV     M,A
        POP     H
        INX     H
        POP     B
        DCR     B
        JNZ     BREED1
        RET

; D = how many of the eight cells round HL live.
COUNT:  PUSH    H
        XCHG
        LXI     H,AROUND
        MVI     C,8
        MVI     B,0
COUNT1: MOV     A,M
        INX     H
        PUSH    H
        MOV     L,A
        RAL
        SBB     A
        MOV     H,A
        DAD     D
        MOV     A,L
        ANI     77Q
        MOV     L,A
        MVI     H,BOARD SHR 8
        MOV     A,M
        ADD     B
        MOV     B,A
        POP     H
        DCR     C
        JNZ     COUNT1
        MOV     D,B
        POP     H
        RET

SWAP:   LXI     H,BOARD
        LXI     D,BOARD+64
        MVI     B,64
SWAP1:  LDAX    D
        MOV     M,A
        INX     H
        INX     D
        DCR     B
        JNZ     SWAP1
        RET

BOARD   EQU     1700H
        END     START
