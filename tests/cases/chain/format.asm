; A stage that goes wrong in its own way.
        ORG     0
FORMAT: MVI     A,3
        OUT     34Q
        MVI     A,11Q           ; 7E1
        OUT     34Q
        MVI     A,'A'
        OUT     35Q             ; the far end hears something else
        JMP     400Q
        END     FORMAT
