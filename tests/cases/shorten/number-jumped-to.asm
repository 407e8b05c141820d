; run: coldwright shorten %
; The number in the line that would go is where the program jumps to.
LAMPS   EQU     275Q            ; port
        ORG     1000Q
START:  LXI     SP,2000Q
        LXI     H,1015Q
        MVI     A,0
        ORA     A
        PCHL
        NOP
        NOP
        NOP
        MVI     A,7
        OUT     LAMPS
        HLT
        END     START
