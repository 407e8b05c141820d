; A stage that goes wrong in its own way.
        ORG     0
DEAF:   IN      33Q
HEAR:   IN      33Q
        ANI     1
        JNZ     HEAR
        HLT
        END     DEAF
