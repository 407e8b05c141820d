; A program that does not say where it starts.
        ORG     400Q
BELL:   HLT
        END
