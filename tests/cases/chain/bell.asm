; The stage that the others are to start.
        ORG     400Q
BELL:   MVI     A,1
        OUT     107Q
        HLT
        END     BELL
