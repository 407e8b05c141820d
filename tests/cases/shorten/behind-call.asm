; run: coldwright shorten %
; OWN is read by its name, and by the routine through its return address: it stays where it is.
LAMPS   EQU     275Q            ; port
        ORG     1000Q
START:  LXI     SP,2000Q
        CALL    INLINE
OWN:    DB      377Q
        LDA     OWN
        OUT     LAMPS
        ANI     377Q
        OUT     LAMPS
        HLT
INLINE: XTHL
        MOV     A,M
        INX     H
        XTHL
        OUT     LAMPS
        RET
        END     START
