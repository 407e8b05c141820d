; A stage that goes wrong in its own way.
        ORG     0
HALT:   HLT
        END     HALT
