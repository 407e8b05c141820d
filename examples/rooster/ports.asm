; ports.asm     What the machine is wired to.

SERST   EQU     20Q             ; reader: status
SERDT   EQU     21Q             ; its data
SERRX   EQU     1               ; 0 in bit 0: a character waits
SERTX   EQU     200Q            ; 0 in bit 7: ready to send
SERLOW  EQU     SERRX OR SERTX
LAMPS   EQU     40Q
SNSPRT  EQU     76Q             ; sense switches
TOP     EQU     20000Q          ; first address above memory
