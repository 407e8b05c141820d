; Stores wherever D and E happen to point.
        ORG     400Q
STORES: MVI     A,7
        MVI     D,3
        STAX    D
        HLT
        END     STORES
