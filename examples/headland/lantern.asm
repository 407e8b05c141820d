; lantern.asm   The light of the headland: three flashes and a pause, and a lamp that says that it is well.

        INCLUDE 'ports.asm'

        ORG     2000Q
LANTERN: LXI    SP,TOP
        LXI     H,CHARACTER
NEXT:   MOV     A,M
        INX     H
        ORA     A
        JZ      LANTERN
        MOV     C,A             ; tenths of a second
        MOV     A,M
        INX     H
        OUT     LAMPS
WAIT:   CALL    TENTH
        DCR     C
        JNZ     WAIT
        JMP     NEXT

TENTH:  LXI     D,8333          ; 24 T-states a turn: a tenth of a second
TENTH1: DCX     D
        MOV     A,D
        ORA     E
        JNZ     TENTH1
        RET

CHARACTER:
        REPT    24              ; a minute's worth, a lamp for every quarter of it
        DB      4,1,6,0,4,1,6,0,4,1,1,0
        ENDM
        DB      50,200Q
        DB      0
        END     LANTERN
