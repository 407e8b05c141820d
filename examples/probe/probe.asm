; probe.asm     To be single-stepped: reads the gauge of a cistern and shows on the lamps what is missing.

GAUGE   EQU     101Q
LAMPS   EQU     237Q

        ORG     0
PROBE:  LXI     SP,TOP
AGAIN:  IN      GAUGE
        PUSH    PSW             ; the data lights show it on its way to memory,
        CMA
        OUT     LAMPS           ; turned round at the lamps,
        POP     H               ; and on its way back
        JMP     AGAIN

TOP     EQU     400Q            ; first address above memory
        END     PROBE
