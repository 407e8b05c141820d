; Goes round without end and is never twice in one state: it counts in memory.
        ORG     0
COUNTS: LXI     H,CELLS
BYTE:   INR     M
        JNZ     COUNTS
        INX     H
        JMP     BYTE
CELLS:  DS      8
        END     COUNTS
