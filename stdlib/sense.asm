; sense.asm     Goes where the sense switches say.
;
; Purpose       One loader or monitor for several devices: the three lowest switches choose one of eight routines.
; Define first  SNSPRT  port of the sense switches
;               SNSTAB  table of eight addresses, by DW
;
; routine  entry           exit                      destroys   bytes  T-states
; SENSE    -               at the chosen address     A, flags      17  81
;                                                    DE, HL
; T-states from the first instruction to the one at the chosen address.

SENSE:  IN      SNSPRT
        ANI     7
        ADD     A               ; two bytes an address
        MOV     E,A
        MVI     D,0
        LXI     H,SNSTAB
        DAD     D
        MOV     E,M
        INX     H
        MOV     D,M
        XCHG
        PCHL
