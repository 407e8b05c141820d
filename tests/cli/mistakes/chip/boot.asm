; boot.asm      Boot loader of the marsh, for a ROM of 256 bytes and for a twin in memory: only BASE differs.

        INCLUDE 'ports.asm'
FDTRK   EQU     1
FDSEC   EQU     1
FDFRST  EQU     1
FDLAST  EQU     26
FDCNT   EQU     3
FDADR   EQU     2000Q
FDENT   EQU     FDADR
FDTRY   EQU     10
FDSTK   EQU     TOP

        ORG     BASE
        LIMIT   256
        INCLUDE 'boot-fd1771.asm'
        ENDLIMIT
        END     FDBOOT
