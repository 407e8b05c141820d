; Asks a chip that nobody set up, does not mind the answer, and starts what was deposited beside it.
        ORG     0
ASKS:   IN      34Q
        JMP     100Q
        END     ASKS
