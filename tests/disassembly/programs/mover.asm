; mover.asm     A ROM that copies its core to memory, changes it there and runs it.

LAMPS   EQU     156Q
KEYS    EQU     60Q

        ORG     0F000H
BEGIN:  LXI     SP,1000H
        LXI     D,CORE
        LXI     H,400H
        LXI     B,COREND-CORE
        CALL    COPY
        MVI     A,5
        STA     SPEED+1
        JMP     RUN

COPY:   LDAX    D
        MOV     M,A
        INX     D
        INX     H
        DCX     B
        MOV     A,B
        ORA     C
        JNZ     COPY
        RET

CORE:   RUNAT   400H
RUN:    LXI     H,PATTERN
NEXT:   MOV     A,M
        CPI     377Q
        JZ      RUN
        OUT     LAMPS
        CALL    SPEED
        INX     H
        IN      KEYS
        ORA     A
        JZ      NEXT
        STA     SPEED+1         ; as fast as the keys say
        JMP     NEXT
SPEED:  MVI     B,1
SPEED1: MVI     C,0
SPEED2: DCR     C
        JNZ     SPEED2
        DCR     B
        JNZ     SPEED1
        RET
PATTERN: DB     1,3,6,14Q,30Q,60Q,140Q,300Q,200Q,377Q
        ENDRUN
COREND  EQU     $
        END     BEGIN
