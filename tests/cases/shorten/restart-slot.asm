; run: coldwright shorten %
; The program fills the bytes where restarts go: a jump among them makes each call a restart.
LAMPS   EQU     275Q            ; port
        ORG     0
START:  LXI     SP,4000Q
        JMP     MAIN
        STUFFTO 100Q,0
MAIN:   IN      LAMPS
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
