        INCLUDE 'ports.asm'
        INCLUDE 'keyin-mc6850.asm'
        END     KEYIN
