; threads.asm   Words that are lists of addresses: headers with names, an inner loop that goes over PCHL, numbers among the lists.
LAMPS   EQU     156Q
        ORG     100H
COLD:   LXI     SP,0F00H
        LXI     B,BOOT
NEXT:   LDAX    B
        INX     B
        MOV     L,A
        LDAX    B
        INX     B
        MOV     H,A
        PCHL
NAME1:  DB      3,'DUP'
DUP:    POP     H
        PUSH    H
        PUSH    H
        JMP     NEXT
NAME2:  DB      4,'DROP'
DROP:   POP     H
        JMP     NEXT
NAME3:  DB      1,'+'
PLUS:   POP     D
        POP     H
        DAD     D
        PUSH    H
        JMP     NEXT
NAME4:  DB      3,'LIT'
LIT:    LDAX    B
        INX     B
        MOV     E,A
        LDAX    B
        INX     B
        MOV     D,A
        PUSH    D
        JMP     NEXT
NAME5:  DB      4,'EMIT'
EMIT:   POP     H
        MOV     A,L
        OUT     LAMPS
        JMP     NEXT
NAME6:  DB      6,'BRANCH'
BRANCH: LDAX    B
        MOV     L,A
        INX     B
        LDAX    B
        MOV     B,A
        MOV     C,L
        JMP     NEXT
NAME7:  DB      3,'NOT'
NOTT:   POP     H
        MOV     A,H
        ORA     L
        LXI     H,0
        JNZ     NOT1
        INX     H
NOT1:   PUSH    H
        JMP     NEXT
BOOT:   DW      LIT,65,EMIT
LOOP:   DW      LIT,1,LIT,2,PLUS,DUP,EMIT,DROP
        DW      LIT,0,NOTT,EMIT
        DW      BRANCH,LOOP
        END     COLD
