; drill.asm     To be stepped by hand: select the drive, load its head, look at it, step it once each way.

        INCLUDE 'ports.asm'
        ORG     1000Q
        INCLUDE 'drill-wired.asm'
        END     DRILL
