; run: coldwright shorten %
; What it reads by pointers is data: its instructions may change. A label of theirs is pushed, and a number that lies among
; them is a count.
LAMPS   EQU     275Q            ; port
        ORG     0
START:  LXI     SP,4000Q
        LXI     H,DONE
        PUSH    H
        LXI     D,3
        LXI     H,BYTES
        DAD     D
        MOV     A,M
        INX     H
        ADD     M
        CPI     0
        OUT     LAMPS
        RET
DONE:   MVI     A,0
        OUT     LAMPS
        HLT
BYTES:  DB      1,2,3,4,5
        END     START
