; A stage that goes wrong in its own way.
        ORG     0
CIRCLE: JMP     CIRCLE
        END     CIRCLE
