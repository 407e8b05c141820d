; Goes where nothing is, later than a start is watched.
        ORG     400Q
WAITS:  LXI     B,30000
AGAIN:  DCX     B
        MOV     A,B
        ORA     C
        JNZ     AGAIN
        JMP     1000Q
        END     WAITS
