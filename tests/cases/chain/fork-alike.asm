; Looks whether memory is there by what it held, and its complement: a branch that always goes the same way.
        ORG     400Q
LOOKS:  LXI     H,1000Q
        MOV     A,M
        CMA
        MOV     M,A
        CMP     M
        JNZ     NONE
        MVI     A,1
        OUT     107Q
        HLT
NONE:   MVI     A,2
        OUT     107Q
        HLT
        END     LOOKS
