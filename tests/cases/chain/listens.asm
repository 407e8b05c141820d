; Waits for a character, and nobody has set the chip up.
        ORG     0
LISTEN: IN      34Q
        ANI     1
        JZ      LISTEN
        HLT
        END     LISTEN
