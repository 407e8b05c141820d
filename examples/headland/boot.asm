; boot.asm      Boot loader of the lighthouse, for a ROM of 256 bytes and for a twin in memory: only BASE differs.

        INCLUDE 'ports.asm'
BWLMP   EQU     LAMPS
BWTRK   EQU     1
BWSEC   EQU     0
BWENT   EQU     2000Q
BWTRY   EQU     10
BWMOST  EQU     80
BWBUF   EQU     17400Q
BWSTK   EQU     TOP

        ORG     BASE
        LIMIT   256
        INCLUDE 'boot-wired.asm'
        ENDLIMIT
        END     BWBOOT
