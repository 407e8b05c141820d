; A stage that goes wrong in its own way.
        ORG     0
PUSHER: PUSH    B              ; to wherever SP points
        HLT
        END     PUSHER
