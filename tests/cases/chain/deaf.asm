; A stage that goes wrong in its own way.
        ORG     0
DEAF:   IN      373Q
HEAR:   IN      373Q
        ANI     1
        JNZ     HEAR
        HLT
        END     DEAF
