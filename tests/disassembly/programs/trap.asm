; trap.asm      Tricks: two bytes swallowed, a jump into an instruction, a stack used as a pointer, code that is changed.

LAMPS   EQU     156Q

        ORG     200Q
TRAP:   LXI     SP,2000Q
        CALL    ONE
        CALL    TWO
        CALL    THREE
        LXI     H,0
        DAD     SP
        SHLD    SAVED
        LXI     SP,LIST
        MVI     B,4
PULL:   POP     H
        MOV     A,H
        XRA     L
        OUT     LAMPS
        DCR     B
        JNZ     PULL
        LHLD    SAVED
        SPHL
        CALL    COUNTER
        JMP     TRAP

; Three entries, each of which passes over the loads of the next.
ONE:    MVI     A,1
        DB      1               ; LXI B: takes the next two bytes
TWO:    MVI     A,2
        DB      1
THREE:  MVI     A,3
        OUT     LAMPS
        RET

COUNTER: MVI    A,0             ; the operand is the variable
        INR     A
        STA     COUNTER+1
        CPI     10
        RNZ
        LXI     H,COUNTER+1
        MVI     M,0
        JMP     ZEROIN+1
ZEROIN: MVI     A,257Q          ; from its second byte on it is XRA A
        OUT     LAMPS
        RET

LIST:   DW      1234H,4321H,0F0FH,5AA5H
SAVED:  DW      0
        END     TRAP
