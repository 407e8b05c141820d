; run: coldwright shorten %
; SHORT lies in LONG, and stays: it is read on into what follows it. FIVE lies in the code, and is written.
LAMPS   EQU     275Q            ; port
        ORG     1000Q
START:  LXI     SP,2000Q
        LXI     H,LONG
        CALL    SHOW
        LXI     H,SHORT
        MVI     C,7
MORE:   MOV     A,M
        OUT     LAMPS
        INX     H
        DCR     C
        JNZ     MORE
        LXI     H,FIVE
        INR     M
        MOV     A,M
        OUT     LAMPS
        HLT
SHOW:   MOV     A,M
        ORA     A
        RZ
        OUT     LAMPS
        INX     H
        JMP     SHOW
LONG:   DB      'COLD START',0
SHORT:  DB      'START',0
FIVE:   DB      5
        DB      5
        END     START
