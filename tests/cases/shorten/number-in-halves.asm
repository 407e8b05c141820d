; run: coldwright shorten %
; Two bytes are the address of a table, as numbers.
LAMPS   EQU     275Q            ; port
        ORG     1000Q
START:  LXI     SP,2000Q
        MVI     H,2
        MVI     L,15Q
        MOV     A,M
        OUT     LAMPS
        HLT
        NOP
TABLE:  DB      11Q,22Q
        END     START
