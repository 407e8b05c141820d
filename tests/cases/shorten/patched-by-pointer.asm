; run: coldwright shorten %
; The program writes into an instruction by way of a word of data.
LAMPS   EQU     275Q            ; port
        ORG     1000Q
START:  LXI     SP,2000Q
        LHLD    PTR
        MVI     M,7
PLACE:  MVI     A,0
        OUT     LAMPS
        HLT
PTR:    DW      PLACE+1
        END     START
