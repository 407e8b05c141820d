; run: coldwright shorten %
; It sums its own instructions: whatever is changed in them, the sum is another one.
LAMPS   EQU     275Q            ; port
        ORG     174000Q
BOOT:   LXI     SP,20000Q
        LXI     H,BOOT
        MVI     C,LAST-BOOT
        XRA     A
SUM:    CALL    NEXT
        DCR     C
        JNZ     SUM
        OUT     LAMPS
        MVI     A,0
        OUT     LAMPS
        HLT
NEXT:   PUSH    B
        ADD     M
        INX     H
        POP     B
        RET
LAST:   DB      0
        END     BOOT
