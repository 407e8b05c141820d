; probe.asm     To be single-stepped: selects device 3, sends it command 20 and reads its status.

SELECT  EQU     10Q
COMMAND EQU     11Q
STATUS  EQU     11Q

        ORG     0
PROBE:  MVI     A,3
        OUT     SELECT
        MVI     A,20Q
        OUT     COMMAND
AGAIN:  IN      STATUS
        STA     SEEN            ; the data lights show the status as it is stored
        JMP     AGAIN

        ORG     40Q
SEEN:   DS      1
        END     PROBE
