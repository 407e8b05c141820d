; Reads the data of a chip that nobody set up.
        ORG     400Q
READS:  IN      35Q
        OUT     107Q
        HLT
        END     READS
