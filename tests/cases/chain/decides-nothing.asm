; It reads a status again and again, and never tests it.
        ORG     0
BLIND:  MVI     A,3
        OUT     34Q
        MVI     A,21Q
        OUT     34Q
ROUND:  IN      34Q
        JMP     ROUND
        END     BLIND
