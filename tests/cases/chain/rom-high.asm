; The upper part.
        ORG     170100Q
ROMHI:  MVI     A,2
        OUT     107Q
        HLT
        END     ROMHI
