; A stage that goes wrong in its own way.
        ORG     0
STRAY:  MVI     A,166Q         ; HLT, put together by hand
        STA     200Q
        JMP     200Q
        END     STRAY
