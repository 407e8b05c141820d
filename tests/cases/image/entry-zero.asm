; run: coldwright convert % -o out.hex -o out.s19
        ORG     0
        NOP
        HLT
        END     0
