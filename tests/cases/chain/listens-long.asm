; Asks a chip that nobody has set up, and counts meanwhile: it is never twice in one state.
        ORG     0
LONG:   LXI     H,CELL
AGAIN:  INR     M
        IN      34Q
        ANI     1
        JZ      AGAIN
        HLT
CELL:   DB      0
        END     LONG
