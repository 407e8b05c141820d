; run: coldwright shorten %
; A pointer is counted on over instructions, and their operands are written: what is written falls on others if one goes.
LAMPS   EQU     275Q            ; port
        ORG     100Q
START:  LXI     SP,4000Q
        LXI     H,FIRST-1
        INX     H
        INX     H
        IN      LAMPS
        MOV     M,A
        INX     H
        INX     H
        MOV     M,A
FIRST:  MVI     B,0
        MVI     C,0
        MOV     A,B
        ADD     C
        OUT     LAMPS
        HLT
        END     START
