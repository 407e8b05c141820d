; run: coldwright shorten %
; What an interrupt runs reads B.
LAMPS   EQU     275Q            ; port
        ORG     1000Q
START:  LXI     SP,2000Q
        MVI     B,5
        EI
WAIT:   JMP     WAIT
        END     START
