; run: coldwright shorten %
; What looks like waste and is none, or may be none.
LAMPS   EQU     275Q             ; port
        ORG     1000Q
START:  LXI     SP,2000Q
        STA     PATCH+1         ; writes into the instruction below
PATCH:  MVI     A,0
        OUT     LAMPS
        LXI     H,TABLE
        MOV     E,M             ; the table names HERE
        INX     H
        MOV     D,M
        XCHG
        PCHL
HERE:   MVI     A,0             ; the carry is read below
        JC      OVER
        OUT     LAMPS
OVER:   MVI     B,0             ; a loop that passes time
WAIT:   MVI     A,0
        CPI     0
        DCR     B
        JNZ     WAIT
        CALL    INLINE          ; takes what stands behind the call
        DB      7Q
        CALL    INLINE
        RET
INLINE: XTHL
        MOV     A,M
        INX     H
        XTHL
        OUT     LAMPS
        RET
TABLE:  DW      HERE
        END     START
