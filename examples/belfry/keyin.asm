; keyin.asm     The key-in loader of the tower.

        INCLUDE 'ports.asm'
        INCLUDE 'keyin-mc6850.asm'
        END     KEYIN
