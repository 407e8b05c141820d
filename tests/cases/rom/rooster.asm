; Boot loader for the ROM socket at the top of memory: reads a program from the tape reader into
; memory at START, strikes the day's first chime, and starts the program.
STATUS  EQU     324Q            ; reader: bit 0 set when a byte is ready
DATA    EQU     325Q
BELLS   EQU     136Q            ; one striker a bit
MARK    EQU     351Q            ; a block begins: address low, high, length, bytes, sum
LAST    EQU     303Q            ; the entry follows
STACK   EQU     20000Q

        ORG     177000Q
BOOT:   DI
        LXI     SP,STACK
        MVI     A,3
        OUT     STATUS
        MVI     A,21Q
        OUT     STATUS
NEXT:   CALL    READ            ; leader and gaps are skipped
        CPI     MARK
        JZ      BLOCK
        CPI     LAST
        JNZ     NEXT
        CALL    READ
        MOV     L,A
        CALL    READ
        MOV     H,A
        PUSH    H
        CALL    CHIME
        RET                     ; to the program

BLOCK:  CALL    READ
        MOV     L,A
        CALL    READ
        MOV     H,A
        CALL    READ
        MOV     B,A
        MVI     C,0
STORE:  CALL    READ
        MOV     M,A
        ADD     C
        MOV     C,A
        INX     H
        DCR     B
        JNZ     STORE
        CALL    READ
        CMP     C
        JZ      NEXT
FAIL:   MVI     A,1             ; one bell, for ever: the block was bad
        CALL    STRIKE
        JMP     FAIL

READ:   IN      STATUS
        RRC
        JNC     READ
        IN      DATA
        RET

CHIME:  LXI     H,TUNE
PLAY:   MOV     A,M
        ORA     A
        RZ
        CALL    STRIKE
        INX     H
        JMP     PLAY

STRIKE: OUT     BELLS
        LXI     D,40000Q
        CALL    PAUSE
        XRA     A
        OUT     BELLS
        LXI     D,100000Q
PAUSE:  DCX     D
        MOV     A,D
        ORA     E
        JNZ     PAUSE
        RET

TUNE:   DB      1,2,4,10Q,20Q,40Q,100Q,200Q
        DB      2,1,10Q,4,40Q,20Q,200Q,100Q
        DB      2,10Q,1,40Q,4,200Q,20Q,100Q
        DB      10Q,2,40Q,1,200Q,4,100Q,20Q
        DB      10Q,40Q,2,200Q,1,100Q,4,20Q
        DB      40Q,10Q,200Q,2,100Q,1,20Q,4
        DB      40Q,200Q,10Q,100Q,2,20Q,1,4
        DB      200Q,40Q,100Q,10Q,20Q,2,4,1
        DB      200Q,100Q,40Q,20Q,10Q,4,2,1
        DB      100Q,200Q,20Q,40Q,4,10Q,1,2
        DB      100Q,20Q,200Q,4,40Q,1,10Q,2
        DB      20Q,100Q,4,200Q,1,40Q,2,10Q
        DB      20Q,4,100Q,1,200Q,2,40Q,10Q
        DB      4,20Q,1,100Q,2,200Q,10Q,40Q
        DB      4,1,20Q,2,100Q,10Q,200Q,40Q
        DB      1,4,2,20Q,10Q,100Q,40Q,200Q
        DB      1,2,4,10Q,20Q,40Q,100Q,200Q
        DB      2,1,10Q,4,40Q,20Q,200Q,100Q
        DB      2,10Q,1,40Q,4,200Q,20Q,100Q
        DB      10Q,2,40Q,1,200Q,4,100Q,20Q
        DB      10Q,40Q,2,200Q,1,100Q,4,20Q
        DB      40Q,10Q,200Q,2,100Q,1,20Q,4
        DB      40Q,200Q,10Q,100Q,2,20Q,1,4
        DB      200Q,40Q,100Q,10Q,20Q,2,4,1
        DB      200Q,100Q,40Q,20Q,10Q,4,2,1
        DB      100Q,200Q,20Q,40Q,4,10Q,1,2
        DB      100Q,20Q,200Q,4,40Q,1,10Q,2
        DB      20Q,100Q,4,200Q,1,40Q,2,10Q
        DB      20Q,4,100Q,1,200Q,2,40Q,10Q
        DB      4,20Q,1,100Q,2,200Q,10Q,40Q
        DB      4,1,20Q,2,100Q,10Q,200Q,40Q
        DB      1,4,2,20Q,10Q,100Q,40Q,200Q
        DB      1,2,4,10Q,20Q,40Q,100Q,200Q
        DB      2,1,10Q,4,40Q,20Q,200Q,100Q
        DB      2,10Q,1,40Q,4,200Q,20Q,100Q
        DB      10Q,2,40Q,1,200Q,4,100Q,20Q
        DB      10Q,40Q,2,200Q,1,100Q,4,20Q
        DB      40Q,10Q,200Q,2,100Q,1,20Q,4
        DB      40Q,200Q,10Q,100Q,2,20Q,1,4
        DB      200Q,40Q,100Q,10Q,20Q,2,4,1
        DB      200Q,100Q,40Q,20Q,10Q,4,2,1
        DB      100Q,200Q,20Q,40Q,4,10Q,1,2
        DB      100Q,20Q,200Q,4,40Q,1,10Q,2
        DB      20Q,100Q,4,200Q,1,40Q,2,10Q
        DB      20Q,4,100Q,1,200Q,2,40Q,10Q
        DB      4,20Q,1,100Q,2,200Q,10Q,40Q
        DB      4,1,20Q,2,100Q,10Q,200Q,40Q
        DB      1,4,2,20Q,10Q,100Q,40Q,200Q
        DB      1,4,20Q,100Q,200Q,1,0
        END     BOOT
