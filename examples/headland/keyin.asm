; keyin.asm     The key-in loader, for the day the ROM is absent.

        INCLUDE 'ports.asm'
        INCLUDE 'keyin-mc6850.asm'
        END     KEYIN
