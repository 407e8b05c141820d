; run: coldwright assemble % --brief
TWICE   MACRO   WHAT
        MVI     A,WHAT
        MVI     A,WHAT
        ENDM
        ORG     0
        TWICE   MISSING
        MVI     B,
        JMP     NOWHERE
