; A loop in a loop: three times, five times.
        ORG     0
        MVI     B,5
OUTER:  MVI     C,3
INNER:  DCR     C
        JNZ     INNER
        DCR     B
        JNZ     OUTER
        HLT
