; crow.asm      What the boot program loads: the lamps crow three times and rest.

        INCLUDE 'ports.asm'

        ORG     4400Q
CROW:   LXI     SP,TOP
        MVI     D,3
CALL1:  LXI     H,LIGHTS
CALL2:  MOV     A,M
        OUT     LAMPS
        INX     H
        ORA     A
        JNZ     CALL2
        DCR     D
        JNZ     CALL1
        HLT
LIGHTS: DB      1,3,7,17Q,37Q,77Q,177Q,377Q,0

        END     CROW
