; What it does hangs on the highest address, where nothing is.
        ORG     0
PROBE:  LXI     SP,PROBE+100
        LDA     -1
        INR     A
        JZ      DONE
        PUSH    PSW
DONE:   HLT
        END     PROBE
