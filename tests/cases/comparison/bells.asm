        ORG     400Q
BEGIN:  LXI     SP,2000Q
        LXI     H,ROUND
NEXT:   MOV     A,M
        ORA     A
        JZ      DONE
        OUT     136Q
        INX     H
        JMP     NEXT
DONE:   CALL    SAY
        DB      'ALL RUNG',0
        HLT
SAY:    POP     H
SAY1:   MOV     A,M
        INX     H
        ORA     A
        JZ      SAY2
        OUT     136Q
        JMP     SAY1
SAY2:   PCHL
ROUND:  DB      1,2,4,10Q,20Q,40Q,0
        END     BEGIN
