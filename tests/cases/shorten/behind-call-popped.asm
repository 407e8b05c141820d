; run: coldwright shorten %
; The routine takes its return address off the stack, and goes on behind what it takes from there.
LAMPS   EQU     275Q            ; port
        ORG     1000Q
START:  LXI     SP,2000Q
        CALL    OUTER
OWN:    DB      377Q
        LDA     OWN
        OUT     LAMPS
        ANI     377Q
        OUT     LAMPS
        HLT
OUTER:  CALL    TAKE
        RET
TAKE:   POP     D
        POP     H
        MOV     A,M
        INX     H
        PUSH    H
        OUT     LAMPS
        PUSH    D
        RET
        END     START
