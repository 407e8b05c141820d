; A boot program for a harbour light, written without an eye on its length.
LAMPS   EQU     275Q            ; port
SWITCH  EQU     275Q            ; port
        ORG     174000Q
BOOT:   LXI     SP,20000Q
        MVI     A,0
        STA     STATE
        MVI     B,0
        MVI     C,0
        LXI     H,HELLO
        CALL    TELL
WATCH:  IN      SWITCH
        CPI     0
        JNZ     BRIGHT
        JMP     DARK
BRIGHT: ANI     17Q
        ORA     A
        JZ      DARK
        MOV     D,A
        LDA     STATE
        CPI     1
        JNZ     TURN
        JMP     COUNT
TURN:   MVI     A,1
        STA     STATE
        LXI     H,ONTEXT
        CALL    TELL
        JMP     COUNT
DARK:   LDA     STATE
        CPI     0
        JNZ     PUTOUT
        JMP     COUNT
PUTOUT: MVI     A,0
        STA     STATE
        LXI     H,OFFTXT
        CALL    TELL
        JMP     COUNT
COUNT:  INX     B
        MOV     A,C
        CPI     0
        JNZ     WATCH
        MOV     A,B
        ANI     3
        CPI     0
        JNZ     WATCH
        LXI     H,TICK
        CALL    TELL
        MOV     A,B
        CPI     20Q
        JNZ     WATCH
        LXI     H,REST
        CALL    TELL
        HLT
TELL:   MOV     A,M
        CPI     0
        JZ      TOLD
        OUT     LAMPS
        INX     H
        JMP     TELL
TOLD:   RET
HELLO:  DB      'THE HARBOUR LIGHT OF THE NORTH MOLE WAKE'
        DB      'S AND LOOKS ABOUT IT: '
        DB      0
ONTEXT: DB      'LIT, AND THE LOG SAYS AT WHAT HOUR AND B'
        DB      'Y WHOSE HAND IT WAS LIT'
        DB      0
OFFTXT: DB      'DARK, AND THE KEEPER IS CALLED FROM HIS '
        DB      'SUPPER TO SEE WHY IT IS'
        DB      0
TICK:   DB      'THE KEEPER TURNS THE GLASS'
        DB      0
REST:   DB      'THE LIGHT RESTS. GOOD NIGHT. '
        DB      0
RULES:  DB      'TRIM THE WICK AT FOUR BELLS. WIPE THE GL'
        DB      'ASS WITH A DRY CLOTH. WIND THE CLOCKWORK'
        DB      ' BEFORE IT STOPS. WRITE DOWN THE WIND, T'
        DB      'HE SEA AND THE SH'
        DB      0
STATE   EQU     17400Q          ; in memory
        END     BOOT
