; It waits for the transmitter with the wrong level: a one is already there.
        ORG     0
SEND:   MVI     A,3
        OUT     34Q
        MVI     A,21Q
        OUT     34Q
FULL:   IN      34Q
        ANI     2
        JNZ     FULL
        HLT
        END     SEND
