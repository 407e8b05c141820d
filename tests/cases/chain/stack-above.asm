; It takes a word more than it put on its stack, and goes on above it.
        ORG     0
ABOVE:  LXI     SP,1000Q
        PUSH    B
        POP     B
        POP     B
        PUSH    B
        JMP     400Q
        END     ABOVE
