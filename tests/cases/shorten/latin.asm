        ORG 100H
START:  MVI A,0         ; café
        MOV B,A
        SUB A
        HLT
        END START
