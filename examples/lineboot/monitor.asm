; monitor.asm   A monitor of at most 1 KiB for a terminal, or a host, on a serial line.
;
; It prompts with >. Then
;   :...    a program comes as Intel HEX; behind its last record it is started at 2000
;   H       the 16 bytes from the last address on are shown, and the next H shows those behind them
;   K nnnn  sets that address, four hexadecimal digits
;   J       starts the program at that address

SERST   EQU     225Q
SERDT   EQU     224Q
SERMOD  EQU     116Q            ; 8N1, clock of 16 times the speed
LDPORT  EQU     264Q
USER    EQU     2000Q           ; where programs start
PLACE   EQU     7776Q           ; the last address, a word
STACK   EQU     PLACE

        ORG     176000Q
        LIMIT   1024
MONITOR: LXI    SP,STACK
        CALL    SERINI
        LXI     H,USER
        SHLD    PLACE
        LXI     H,GREETING
        CALL    TEXT

PROMPT: LXI     SP,STACK
        CALL    LINE
        MVI     A,'>'
        CALL    SEROUT
COMMAND: CALL   LDTEXT
        CPI     ':'
        JZ      LOADH1          ; the first record has begun
        CPI     'H'
        JZ      SHOW
        CPI     'K'
        JZ      ADDRESS
        CPI     'J'
        JNZ     COMMAND
        LHLD    PLACE
        PCHL

SHOW:   CALL    LINE
        LHLD    PLACE
        CALL    HEXWRD
        MVI     C,16
SHOW1:  MVI     A,' '
        CALL    SEROUT
        MOV     A,M
        CALL    HEXOUT
        INX     H
        DCR     C
        JNZ     SHOW1
        SHLD    PLACE           ; shared with ADDRESS it is 3 bytes less: there is room
        JMP     PROMPT

ADDRESS: MVI    D,0
        CALL    LDBYTE
        MOV     H,A
        CALL    LDBYTE
        MOV     L,A
        SHLD    PLACE           ; shared with SHOW it is 3 bytes less: there is room
        JMP     PROMPT

; A text that ends with 0.
TEXT:   MOV     A,M
        ORA     A
        RZ
        CALL    SEROUT
        INX     H
        JMP     TEXT

LINE:   MVI     A,15Q
        CALL    SEROUT
        MVI     A,12Q
        JMP     SEROUT

LDRUN:  JMP     USER            ; all records are in

GREETING: DB    15Q,12Q,'LINEBOOT',0

        INCLUDE 'i8251.asm'
        INCLUDE 'hex.asm'
        INCLUDE 'load-intel-hex.asm'
        ENDLIMIT
        END     MONITOR
