; A stage that goes wrong in its own way.
        ORG     0
WANDER: JMP     1000Q          ; there is nothing
        END     WANDER
