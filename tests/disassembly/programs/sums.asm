; sums.asm      Products, quotients, roots and noise behind a list of jumps; tables of sines and primes.
        ORG     5000H
ENT:    JMP     MULT
        JMP     DIVD
        JMP     ROOT
        JMP     RAND
        JMP     SINE
MULT:   MOV     A,L
        MVI     B,8
        LXI     H,0
MUL1:   DAD     H
        RLC
        JNC     MUL2
        DAD     D
MUL2:   DCR     B
        JNZ     MUL1
        RET
DIVD:   MVI     A,16
        LXI     B,0
DIV1:   DAD     H
        PUSH    PSW
        MOV     A,C
        RAL
        MOV     C,A
        MOV     A,B
        RAL
        MOV     B,A
        MOV     A,C
        SUB     E
        MOV     C,A
        MOV     A,B
        SBB     D
        MOV     B,A
        JNC     DIV2
        MOV     A,C
        ADD     E
        MOV     C,A
        MOV     A,B
        ADC     D
        MOV     B,A
        JMP     DIV3
DIV2:   INX     H
DIV3:   POP     PSW
        DCR     A
        JNZ     DIV1
        RET
ROOT:   MVI     C,0
        LXI     D,1
RO1:    MOV     A,L
        SUB     E
        MOV     L,A
        MOV     A,H
        SBB     D
        MOV     H,A
        RC
        INR     C
        INX     D
        INX     D
        JMP     RO1
RAND:   LHLD    SEED
        MVI     A,16
        ANA     H
        JPE     RA1
        STC
RA1:    MOV     A,L
        RAL
        MOV     L,A
        MOV     A,H
        RAL
        MOV     H,A
        SHLD    SEED
        RET
SINE:   CPI     64
        JC      SI1
        CMA
        ADI     128
SI1:    MOV     E,A
        MVI     D,0
        LXI     H,STAB
        DAD     D
        MOV     A,M
        RET
STAB:   DB      0,3,6,9,12,16,19,22,25,28,31,34,37,40,43,46
        DB      49,51,54,57,60,63,65,68,71,73,76,78,81,83,85,88
        DB      90,92,94,96,98,100,102,104,106,107,109,111,112,113,115,116
        DB      117,118,120,121,122,122,123,124,125,125,126,126,126,127,127,127
PRIMES: DB      2,3,5,7,11,13,17,19,23,29,31,37,41,43,47,53,59,61,67,71
        DB      73,79,83,89,97,101,103,107,109,113,127,131,137,139,149,151
SEED:   DW      1234H
; Nothing here calls these.
PRIME:  LXI     H,PRIMES
        MVI     B,36
PR1:    CMP     M
        RZ
        INX     H
        DCR     B
        JNZ     PR1
        ORA     A
        RET
FACT:   ORA     A
        JNZ     FA1
        INR     A
        MOV     L,A
        MVI     H,0
        RET
FA1:    PUSH    PSW
        DCR     A
        CALL    FACT
        POP     PSW
        XCHG
        MOV     L,A
        CALL    MULT
        RET
        END     ENT
