; nowhere.asm   The stack lies above memory.

NOWHERE: LXI    SP,40000Q       ; memory ends below 20000
        PUSH    B
        JMP     400Q
        END     NOWHERE
