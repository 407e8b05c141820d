; run: coldwright assemble %
; Two labels for one place: each has a line of its own.
HERE:   THERE:  NOP     ;~ operation-unknown
        JMP     HERE
        JMP     THERE
        END
