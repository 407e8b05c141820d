        ORG     10000Q
BEGIN:  LXI     SP,2000Q
        LXI     D,CORE
        LXI     H,400Q
        MVI     B,COREND-CORE
MOVE:   LDAX    D
        MOV     M,A
        INX     D
        INX     H
        DCR     B
        JNZ     MOVE
        MVI     A,7
        STA     STROKE+1        ; the bell, from here on
        JMP     STROKE
CORE:   RUNAT   400Q
STROKE: MVI     A,1
        OUT     136Q
        CALL    REST
        XRA     A
        OUT     136Q
        CALL    REST
        JMP     STROKE
REST:   LXI     H,0
REST1:  DCX     H
        MOV     A,H
        ORA     L
        JNZ     REST1
        RET
        ENDRUN
COREND  EQU     $
        END     BEGIN
