; Ports that nobody described, used more than once.
        ORG     0
OFTEN:  IN      33Q
        IN      33Q
        OUT     33Q
        OUT     34Q
        IN      33Q
        OUT     34Q
        HLT
        END     OFTEN
