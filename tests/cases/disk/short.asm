        ORG     1000Q
START:  HLT
        END     START
