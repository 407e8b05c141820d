; A stage that goes wrong in its own way.
        ORG     0
FORMAT: MVI     A,3
        OUT     20Q
        MVI     A,11Q           ; 7E1
        OUT     20Q
        JMP     400Q
        END     FORMAT
