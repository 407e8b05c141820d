; run: coldwright shorten %
; The same behind RST.
LAMPS   EQU     275Q            ; port
        ORG     0
        JMP     START
        ORG     10Q
        XTHL
        MOV     A,M
        INX     H
        XTHL
        OUT     LAMPS
        RET
        ORG     1000Q
START:  LXI     SP,2000Q
        RST     1
OWN:    DB      377Q
        LDA     OWN
        OUT     LAMPS
        ANI     377Q
        OUT     LAMPS
        HLT
        END     START
