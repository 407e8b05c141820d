; The command word switches the receiver on and leaves the transmitter off.
        ORG     0
GO:     MVI     A,01001110B     ; eight bits, one stop, a clock of 16 times
        OUT     34Q
        MVI     A,00000100B
        OUT     34Q
        MVI     A,'S'
        OUT     35Q
        HLT
        END     GO
