; run: coldwright card %
; Which of two loops it comes to hangs on a byte that nobody put there: no lights are drawn.
        ORG     400Q
FORK:   LDA     1000Q
        ORA     A
        JM      LIT
DARK:   JMP     DARK
LIT:    JMP     LIT
        END     FORK
