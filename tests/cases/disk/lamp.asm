        ORG     1000Q
START:  LXI     H,TEXT
NEXT:   MOV     A,M
        ORA     A
        JZ      START
        INX     H
        JMP     NEXT
TEXT:   DB      'THE LAMP IS LIT, THE HORN IS SILENT',0
        DS      3
        DB      'KEEP THE LOG'
        REPT    60
        DB      0,1,2,3
        ENDM
        END     START
