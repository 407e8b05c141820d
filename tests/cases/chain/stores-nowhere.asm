; Stores above the end of memory, and shows what it finds there.
        ORG     400Q
STORES: MVI     A,5
        STA     20000Q
        LDA     20000Q
        OUT     107Q
        HLT
        END     STORES
