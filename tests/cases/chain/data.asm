; A stage that goes wrong in its own way.
        ORG     0
DATA:   JMP     TABLE
TABLE:  DB      1,2,3
        END     DATA
