        ORG     1000Q
START:  MVI     A,1
        LXI     H,1100Q
        JMP     1100Q
        ORG     1100Q
        MOV     A,M
        HLT
        END     START
