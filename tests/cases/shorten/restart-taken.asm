; run: coldwright shorten %
; Bytes are filled where restarts go, but nobody can tell how far down the stack comes.
LAMPS   EQU     275Q            ; port
        ORG     0
START:  LXI     SP,2000Q
        JMP     MAIN
        STUFFTO 100Q,0
MAIN:   IN      LAMPS
MORE:   PUSH    PSW
        DCR     A
        JNZ     MORE
        MOV     B,A
        CALL    SHOW
        INR     B
        CALL    SHOW
        CALL    SHOW
        HLT
SHOW:   MOV     A,B
        XRI     5
        OUT     LAMPS
        RET
        END     START
