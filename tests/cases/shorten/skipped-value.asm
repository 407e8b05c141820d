; run: coldwright shorten %
; The routine may come back behind the MVI: far below, A need not be 5.
LAMPS   EQU     275Q            ; port
        ORG     1000Q
START:  LXI     SP,2000Q
        CALL    GET
        MVI     A,5
        MOV     B,C
        MOV     C,D
        MOV     D,E
        MOV     E,B
        MOV     B,D
        MOV     D,C
        MOV     C,E
        MOV     E,D
        MOV     D,B
        MOV     B,E
        MOV     E,C
        MOV     C,B
        MOV     B,D
        MOV     D,E
        MOV     E,C
        MOV     C,D
        MOV     D,B
        MVI     A,5
        OUT     LAMPS
        MOV     A,B
        OUT     LAMPS
        MOV     A,C
        OUT     LAMPS
        MOV     A,D
        OUT     LAMPS
        MOV     A,E
        OUT     LAMPS
        HLT
GET:    IN      LAMPS
        ANI     1
        RZ
        POP     H
        INX     H
        INX     H
        PCHL
        END     START
