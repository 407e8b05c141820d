LAMPS   EQU     275Q            ; port
        ORG     1000Q
START:  MVI     A,SHIFT
        OUT     LAMPS
        HLT
        END     START
