        ORG     400Q
ASK:    IN      34Q
        ANI     206Q            ; byte waits, ready, and a bit of which nothing is said
        JZ      ASK
        HLT
        END     ASK
