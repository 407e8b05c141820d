; The upper part.
        ORG     170100Q
ROMHI:  MVI     A,2
        OUT     40Q
        HLT
        END     ROMHI
