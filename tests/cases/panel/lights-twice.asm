; run: coldwright lights % --input 0o254=1 --input 0o254=3
        ORG     0
START:  IN      254Q
        HLT
        END     START
