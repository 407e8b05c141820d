; run: coldwright shorten %
; The address of a byte within an instruction is put together of halves.
LAMPS   EQU     275Q            ; port
        ORG     1000Q
START:  LXI     SP,2000Q
        MVI     H,HIGH (PLACE+1)
        MVI     L,LOW (PLACE+1)
        MVI     M,7
PLACE:  MVI     A,0
        OUT     LAMPS
        HLT
        END     START
