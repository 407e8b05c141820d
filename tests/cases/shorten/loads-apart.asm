; run: coldwright shorten %
; Loads with something between them, stores of both halves, and labels counted on from each other.
LAMPS   EQU     275Q            ; port
        ORG     100H
START:  LXI     SP,4000Q
        MVI     B,5             ; high
        MOV     A,D
        OUT     LAMPS
        MVI     C,3
        CALL    RTN
        LXI     H,CELL
        MOV     A,M
        ADD     B
        OUT     LAMPS
        LXI     H,CELL+1
        MOV     B,M
        CALL    RTN
        MOV     A,L
        STA     CELL
        MOV     A,H
        STA     CELL+1
        XRA     A
        CALL    RTN
        LXI     H,CELL
        LXI     D,CELL
        CALL    RTN
        LDA     CELL
        MOV     L,A
        LDA     CELL+1
        MOV     H,A
        XRA     A
        CALL    RTN
        MVI     D,0
        ADD     B
        OUT     LAMPS
        MVI     E,0
        CALL    RTN
        HLT
RTN:    PUSH    B
        STA     4000Q
        PUSH    PSW
        PUSH    D
        PUSH    H
        POP     H
        POP     D
        POP     PSW
        POP     B
        RET
CELL:   DB      0,0
        END     START
