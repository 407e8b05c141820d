; run: coldwright sheet %
; A sheet of two pages: the second goes on where the first ended.
        ORG     377Q
LONG:   STUFF   40,251Q
        END     LONG
