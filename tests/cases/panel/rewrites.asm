; It makes HLT of what it was assembled with, and runs it.
        ORG     0
        MVI     A,166Q
        STA     HERE
HERE:   NOP             ; it was harmless once
