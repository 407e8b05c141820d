; courier.asm   The second stage of the tower: loads checked blocks from the cassette.
;
; It shares its page with the key-in loader, which lies at 010 to 030.

        INCLUDE 'ports.asm'
LDPORT  EQU     BELLS           ; complaints ring a bell
LDSTK   EQU     TOP

        ORG     KIPAGE SHL 8 + 31Q
COURIER: LXI    SP,LDSTK
        CALL    BARECK          ; did the key-in loader read the page right?
        JNZ     TORN
        CALL    SERINI
        JMP     LOADBL

TORN:   MVI     A,LAMP          ; no: the lamp burns
        OUT     BELLS
        HLT

        INCLUDE 'check-bare.asm'
        INCLUDE 'mc6850.asm'
        INCLUDE 'load-blocks.asm'
        END     COURIER
