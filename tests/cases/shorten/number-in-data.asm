; run: coldwright shorten %
; A word of data is the address of an instruction, as a number.
LAMPS   EQU     275Q            ; port
        ORG     1000Q
START:  LXI     SP,2000Q
        MVI     B,3
        MVI     C,7
        LHLD    PTR
        PCHL
        NOP
        MVI     A,6
        OUT     LAMPS
        MOV     A,B
        OUT     LAMPS
        MOV     A,C
        OUT     LAMPS
        HLT
PTR:    DW      1014Q
        END     START
