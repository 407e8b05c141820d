; run: coldwright shorten %
; The same text, and not the same word: `$` is another address in each.
LAMPS   EQU     275Q            ; port
        ORG     100Q
START:  LXI     SP,4000Q
        LXI     H,$+100Q
        LXI     D,$+100Q
        MOV     A,H
        ADD     L
        ADD     D
        ADD     E
        OUT     LAMPS
        HLT
        END     START
