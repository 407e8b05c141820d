; chooser.asm   A command table of letters with addresses, a table of jumps, and a table by number.

SERST   EQU     211Q
SERDT   EQU     210Q
SERFMT  EQU     25Q
LAMPS   EQU     156Q
SWITCH  EQU     304Q

        ORG     0
        JMP     START
        DS      5
        JMP     TICK            ; RST 1
        DS      5
        PUSH    PSW             ; RST 2
        MVI     A,377Q
        OUT     LAMPS
        POP     PSW
        RET

        ORG     100H
START:  LXI     SP,STACK
        CALL    SERINI
        LXI     H,0
        SHLD    TICKS
        EI
ASK:    MVI     A,'?'
        CALL    SEROUT
        CALL    SERIN
        ANI     177Q
        CALL    FIND
        RST     2
        JMP     ASK

FIND:   LXI     H,COMMANDS
        MOV     B,A
FIND1:  MOV     A,M
        ORA     A
        RZ                      ; not in the table
        CMP     B
        INX     H
        JZ      FIND2
        INX     H
        INX     H
        JMP     FIND1
FIND2:  MOV     E,M
        INX     H
        MOV     D,M
        XCHG
        PCHL

COMMANDS: DB    'A'
        DW      ADDUP
        DB      'C'
        DW      CLEAR
        DB      'L'
        DW      LIGHT
        DB      'S'
        DW      SWITCHES
        DB      0

ADDUP:  LXI     H,NUMBERS
        MVI     C,8
        XRA     A
ADDUP1: ADD     M
        INX     H
        DCR     C
        JNZ     ADDUP1
        STA     RESULT
        RET

CLEAR:  LXI     H,RESULT
        MVI     M,0
        INX     H
        MVI     M,0
        RET

LIGHT:  LDA     RESULT
        OUT     LAMPS
        RET

; What the switches say, by a table of jumps.
SWITCHES: IN    SWITCH
        ANI     3
        MOV     E,A
        ADD     A
        ADD     E
        MOV     E,A
        MVI     D,0
        LXI     H,JUMPS
        DAD     D
        PCHL
JUMPS:  JMP     ADDUP
        JMP     CLEAR
        JMP     LIGHT
        JMP     ROTATE

ROTATE: LDA     RESULT
        RLC
        STA     RESULT
        ; by number
        ANI     3
        ADD     A
        LXI     H,TURNS
        MOV     E,A
        MVI     D,0
        DAD     D
        MOV     A,M
        INX     H
        MOV     H,M
        MOV     L,A
        PCHL
TURNS:  DW      ONCE,TWICE,TWICE,NEVER

TWICE:  LDA     RESULT
        RLC
        STA     RESULT
ONCE:   LDA     RESULT
        RLC
        STA     RESULT
NEVER:  RET

TICK:   PUSH    H
        LHLD    TICKS
        INX     H
        SHLD    TICKS
        POP     H
        EI
        RET

NUMBERS: DB     3,141,59,26,53,58,97,93

        INCLUDE 'mc6850.asm'

RESULT  EQU     2000H
TICKS   EQU     2002H
STACK   EQU     2400H
        END     START
