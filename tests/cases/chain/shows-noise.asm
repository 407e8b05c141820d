; Shows five bits of what memory held at power-on.
        ORG     400Q
SHOWS:  LDA     1000Q
        ANI     37Q
        OUT     107Q
        HLT
        END     SHOWS
