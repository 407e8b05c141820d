; A stage that goes wrong in its own way.
        ORG     0
HASTY:  JMP     400Q            ; before anything was read
        END     HASTY
