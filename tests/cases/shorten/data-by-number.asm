; run: coldwright shorten %
; Twice the same bytes, and the second are read from the first on, by a number: they are not the same to it.
LAMPS   EQU     275Q            ; port
        ORG     100Q
START:  LXI     SP,4000Q
        LXI     H,200Q          ; ALL, by its number
        MVI     C,15
MORE:   MOV     A,M
        OUT     LAMPS
        INX     H
        DCR     C
        JNZ     MORE
        LXI     H,SHORT
NEXT:   MOV     A,M
        ORA     A
        JZ      DONE
        OUT     LAMPS
        INX     H
        JMP     NEXT
DONE:   HLT
        ORG     200Q
ALL:    DB      'RESTART',0
SHORT:  DB      'START',0
LAST:   DB      1
        END     START
