; keyin.asm     The key-in loader, to try the boot program while its socket is empty.

KIPAGE  EQU     0
        INCLUDE 'ports.asm'
        INCLUDE 'keyin-uart.asm'
        END     KEYIN
