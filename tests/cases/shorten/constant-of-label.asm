; run: coldwright shorten %
; X is made of a label: it is 400 octal now, and would be 377 octal with one byte saved before it. H is not known to be 1.
LAMPS   EQU     275Q            ; port
        ORG     340Q
START:  LXI     SP,4000Q
        MVI     C,0
        MOV     A,C
        OUT     LAMPS
        LXI     H,X
        DAD     B
        MVI     A,1
        OUT     LAMPS
        MOV     A,M
        OUT     LAMPS
        HLT
        DS      12
Y:      DB      5
X       EQU     Y
        END     START
