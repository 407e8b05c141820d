; Deposited beside another program, which starts it.
        ORG     100Q
ADDED:  MVI     A,2
        OUT     107Q
        HLT
        END     ADDED
