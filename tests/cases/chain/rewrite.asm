; A stage that goes wrong in its own way.
        ORG     0
REWRITE:STA     170000Q
        HLT
        END     REWRITE
