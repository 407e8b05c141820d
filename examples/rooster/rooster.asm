; rooster.asm   A boot program of 512 bytes, for an EPROM and for a trial in memory: only BASE differs.
;
; The sense switches choose: 0 loads a tape of blocks, 1 tests memory first, 2 lets the lamps walk.

        INCLUDE 'ports.asm'
LDPORT  EQU     LAMPS
LDSTK   EQU     TOP
EXIN    EQU     SNSPRT
EXOUT   EQU     LAMPS

        ORG     BASE
        LIMIT   512
ROOSTER: LXI    SP,LDSTK
        CALL    SERINI
        MVI     A,1             ; awake
        OUT     LAMPS

        INCLUDE 'sense.asm'
SNSTAB: DW      LOADBL,TRYMEM,EXWALK,EXECHO
        DW      LOADBL,LOADBL,LOADBL,LOADBL

; Tests the 2 KiB from 2000 on, where nothing of ours lies, with both seeds.
TRYMEM: MVI     D,0
        CALL    TRY
        MVI     D,377Q          ; DCR D is a byte less, and rests on what MEMTST leaves
        CALL    TRY
        JMP     LOADBL
TRY:    LXI     H,2000Q
        LXI     B,4000Q
        CALL    MEMTST
        RZ
        OUT     LAMPS           ; the bits that are bad
        HLT

        INCLUDE 'uart.asm'
        INCLUDE 'load-blocks.asm'
        INCLUDE 'memtest.asm'
        INCLUDE 'exercise.asm'
        ENDLIMIT
        END     ROOSTER
