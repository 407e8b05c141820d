; Steps the drive twice, and does not wait in between.
        ORG     0
TWICE:  MVI     A,4             ; select
        OUT     107Q
        MVI     A,204Q          ; step
        OUT     107Q
        MVI     A,4
        OUT     107Q
        MVI     A,204Q          ; and once more
        OUT     107Q
        HLT
        END     TWICE
