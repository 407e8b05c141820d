; run: coldwright assemble %
        ORG     400Q
GO:     MVI     A,1
        OUT     355Q
        HLT
        END     40Q
