; run: coldwright shorten %
        ORG     1000Q
        MVI     A,0
        HLT
        END
