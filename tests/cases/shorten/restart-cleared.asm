; run: coldwright shorten %
; What is filled where restarts go is cleared by a pointer that comes down from a number.
LAMPS   EQU     275Q            ; port
        ORG     0
        JMP     START
        STUFFTO 100Q,0
START:  LXI     SP,4000Q
        LXI     H,77Q           ; clears what was filled, downwards
CLEAR:  MVI     M,0
        DCR     L
        MOV     A,L
        CPI     5
        JNZ     CLEAR
        MVI     A,1
        CALL    SHOW
        MVI     A,3
        CALL    SHOW
        MVI     A,7
        CALL    SHOW
        HLT
SHOW:   OUT     LAMPS
        RET
        END     START
