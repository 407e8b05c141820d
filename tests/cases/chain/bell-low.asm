; A stage that does not mind what it puts out.
        ORG     0
BELLOW: MVI     A,1
        OUT     107Q
        HLT
        END     BELLOW
