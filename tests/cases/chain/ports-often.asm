; Ports that nobody described, used more than once.
        ORG     0
OFTEN:  IN      373Q
        IN      373Q
        OUT     373Q
        OUT     355Q
        IN      373Q
        OUT     355Q
        HLT
        END     OFTEN
