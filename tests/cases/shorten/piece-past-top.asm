; run: coldwright shorten % --apply -o -
; Two pieces, of which the second is one byte too long for the top of memory. The first stays where it is, and what the one
; names of the other follows.
LAMPS   EQU     275Q            ; port
        ORG     0
        JMP     START
        ORG     70Q
ALARM:  MVI     A,0
        CALL    SHOW
        RET
        ORG     1000Q
CELL:   DS      1
        ORG     177740Q         ; the last 32 bytes
START:  LXI     SP,2000Q
        MVI     A,0             ; no lamp
        STA     CELL
NEXT:   LDA     CELL
        CPI     0               ; all the way round?
        JNZ     MORE
        CALL    ALARM
        INR     A
MORE:   CALL    SHOW
        RLC
        STA     CELL
        JMP     NEXT
SHOW:   OUT     LAMPS
        RET
        END     START
