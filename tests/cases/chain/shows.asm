; A stage that goes wrong and shows it for ever.
        ORG     0
SHOWS:  MVI     A,7
AGAIN:  OUT     107Q
        JMP     AGAIN
        END     SHOWS
