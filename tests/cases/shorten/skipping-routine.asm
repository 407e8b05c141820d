; run: coldwright shorten %
; The routine comes back three bytes further on if there is something.
LAMPS   EQU     275Q            ; port
        ORG     1000Q
START:  LXI     SP,2000Q
AGAIN:  CALL    GET
        JMP     BAD
        OUT     LAMPS
        JMP     AGAIN
BAD:    RET
GET:    IN      LAMPS
        ANI     1
        RZ
        IN      LAMPS
        POP     H
        INX     H
        INX     H
        INX     H
        PCHL
        END     START
