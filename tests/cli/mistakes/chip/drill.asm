; drill.asm     To be stepped by hand: ends what the chip does, selects the drive, looks at it, and steps it in and out.

        INCLUDE 'ports.asm'
        ORG     1000Q
        INCLUDE 'drill-fd1771.asm'
        END     DRILL
