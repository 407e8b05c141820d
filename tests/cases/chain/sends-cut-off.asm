; The chip is reset while what it was given is on its way.
        ORG     0
GO:     MVI     A,01001110B     ; eight bits, one stop, a clock of 16 times
        OUT     34Q
        MVI     A,00000101B
        OUT     34Q
        MVI     A,'S'
        OUT     35Q
        MVI     A,01000000B
        OUT     34Q
        HLT
        END     GO
