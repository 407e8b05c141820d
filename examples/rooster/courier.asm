; courier.asm   Brings the boot program from the tape, for its trial in memory.

KIPAGE  EQU     0
        INCLUDE 'ports.asm'
LDPORT  EQU     LAMPS
LDSTK   EQU     TOP

        ORG     KIPAGE SHL 8 + 31Q
COURIER: LXI    SP,LDSTK
        CALL    BARECK          ; did the key-in loader read the page right?
        JZ      LOADBL
        MVI     A,377Q          ; no: all lamps
        OUT     LAMPS
        HLT

        INCLUDE 'check-bare.asm'
        INCLUDE 'uart.asm'
        INCLUDE 'load-blocks.asm'
        END     COURIER
