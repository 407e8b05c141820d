; keyin.asm     The key-in loader, for the day the ROM card is absent.

KIPAGE  EQU     0
        INCLUDE 'ports.asm'
        INCLUDE 'keyin-uart.asm'
        END     KEYIN
