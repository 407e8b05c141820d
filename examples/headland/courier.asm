; courier.asm   Brings the twin of the boot loader from the cassette.

        INCLUDE 'ports.asm'
LDPORT  EQU     LAMPS
LDSTK   EQU     TOP

        ORG     KIPAGE SHL 8 + 31Q
COURIER: LXI    SP,LDSTK
        CALL    BARECK          ; did the key-in loader read the page right?
        JNZ     TORN
        CALL    SERINI
        JMP     LOADBL

TORN:   MVI     A,377Q          ; no: all lamps
        OUT     LAMPS
        HLT

        INCLUDE 'check-bare.asm'
        INCLUDE 'mc6850.asm'
        INCLUDE 'load-blocks.asm'
        END     COURIER
