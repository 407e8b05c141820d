; Sends three characters without a look at the status: one is being sent, one waits, and the next takes its place.
        ORG     0
SENDS:  MVI     A,3
        OUT     34Q
        MVI     A,21Q
        OUT     34Q
        MVI     A,'B'
        OUT     35Q
        MVI     A,'E'
        OUT     35Q
        MVI     A,'L'
        OUT     35Q
        HLT
        END     SENDS
