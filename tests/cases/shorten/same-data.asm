; run: coldwright shorten %
; Texts and bytes that lie in others, are read by their names alone, and never written.
LAMPS   EQU     275Q            ; port
        ORG     100H
START:  LXI     SP,4000Q
        LXI     H,LONG
        CALL    SHOW
        LXI     H,SHORT
        CALL    SHOW
        LDA     FIVE
        OUT     LAMPS
        LDA     COUNT
        INR     A
        STA     COUNT
        LXI     H,TABLE
        MVI     C,3
MORE:   MOV     A,M
        OUT     LAMPS
        INX     H
        DCR     C
        JNZ     MORE
        HLT
SHOW:   MOV     A,M
        ORA     A
        RZ
        OUT     LAMPS
        INX     H
        JMP     SHOW
LONG:   DB      'COLD START',0
SHORT:  DB      'START',0       ; the end of it
FIVE:   DB      12Q
TABLE:  DB      'LD '
COUNT:  DB      0
        DB      12Q
        END     START
