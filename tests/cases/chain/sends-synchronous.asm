; The mode word selects synchronous operation, which sends nothing to a line of start-stop characters.
        ORG     0
GO:     MVI     A,00000000B
        OUT     34Q
        MVI     A,'S'
        OUT     35Q
        HLT
        END     GO
