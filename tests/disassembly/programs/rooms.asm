; rooms.asm     Rooms with doors: records of addresses, a list of letters with addresses, texts that end with a sign, pictures in bits.
SERST   EQU     211Q
SERDT   EQU     210Q
        ORG     2000H
GAME:   LXI     SP,3F00H
        LXI     H,ROOM1
        SHLD    HERE
SHOW:   LHLD    HERE
        MOV     E,M
        INX     H
        MOV     D,M
        XCHG
        CALL    PRINT
ASK:    LXI     H,PROMPT
        CALL    PRINT
        CALL    GETC
        LXI     H,WORDS
LOOK:   MOV     B,M
        INR     B
        DCR     B
        JZ      HUH
        CMP     B
        INX     H
        JZ      HIT
        INX     H
        INX     H
        JMP     LOOK
HIT:    MOV     A,M
        INX     H
        MOV     H,M
        MOV     L,A
        PCHL
HUH:    LXI     H,WHAT
        CALL    PRINT
        JMP     ASK
NORTH:  MVI     A,2
        JMP     GO
SOUTH:  MVI     A,4
        JMP     GO
EAST:   MVI     A,6
        JMP     GO
WEST:   MVI     A,8
GO:     LHLD    HERE
        MOV     E,A
        MVI     D,0
        DAD     D
        MOV     E,M
        INX     H
        MOV     D,M
        MOV     A,D
        ORA     E
        JZ      WALL
        XCHG
        SHLD    HERE
        JMP     SHOW
WALL:   LXI     H,NOWAY
        CALL    PRINT
        JMP     ASK
DRAWIT: LXI     H,SPRITE
        MVI     C,16
DR1:    MOV     A,M
        OUT     156Q
        INX     H
        DCR     C
        JNZ     DR1
        JMP     ASK
QUIT:   LXI     H,BYE
        CALL    PRINT
        HLT
PRINT:  MOV     A,M
        CPI     '$'
        RZ
        CALL    PUTC
        INX     H
        JMP     PRINT
GETC:   IN      SERST
        ANI     2
        JZ      GETC
        IN      SERDT
        ANI     177Q
PUTC:   PUSH    PSW
PU1:    IN      SERST
        ANI     1
        JZ      PU1
        POP     PSW
        OUT     SERDT
        RET
WORDS:  DB      'N'
        DW      NORTH
        DB      'S'
        DW      SOUTH
        DB      'E'
        DW      EAST
        DB      'W'
        DW      WEST
        DB      'D'
        DW      DRAWIT
        DB      'Q'
        DW      QUIT
        DB      0
ROOM1:  DW      T1,ROOM2,0,ROOM3,0
ROOM2:  DW      T2,0,ROOM1,0,0
ROOM3:  DW      T3,0,0,0,ROOM1
T1:     DB      'YOU STAND IN THE RINGING ROOM.$'
T2:     DB      'THE BELLS HANG ABOVE YOU.$'
T3:     DB      'A STAIR LEADS DOWN.$'
PROMPT: DB      13,10,'> $'
WHAT:   DB      'WHAT?$'
NOWAY:  DB      'NO WAY$'
BYE:    DB      'FAREWELL$'
SPRITE: DB      00111100B,01111110B,11011011B,11111111B,11111111B,01100110B,00111100B,00011000B
        DB      0FFH,81H,0BDH,0A5H,0A5H,0BDH,81H,0FFH
HERE    EQU     3000H
        END     GAME
