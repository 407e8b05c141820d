; A program that lies in two sockets: the boundary runs through it.
        ORG     170000Q
DIVIDED:
        JMP     OVER
        ORG     170775Q
OVER:   MVI     A,2
        OUT     107Q
        HLT
        IF      TOOFAR
        ORG     172000Q
        DB      2
        ENDIF
        END     DIVIDED
