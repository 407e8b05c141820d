; ports.asm     What the machine is wired to.

SERST   EQU     271Q            ; reader: status
SERDT   EQU     270Q            ; its data
SERRX   EQU     10Q             ; 0 in bit 3: a character waits
SERTX   EQU     20Q             ; 1 in bit 4: ready to send
SERLOW  EQU     SERRX           ; of these two, the one that is 0 for yes
LAMPS   EQU     100Q
SNSPRT  EQU     276Q            ; sense switches
TOP     EQU     20000Q          ; first address above memory
