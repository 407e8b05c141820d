; ports.asm     What the tower's machine is wired to.

SERST   EQU     50Q             ; cassette interface: status and control
SERDT   EQU     51Q             ; its data
SERFMT  EQU     21Q             ; 8N2, clock of 16 times the speed
BELLS   EQU     355Q            ; bell strikers, and a lamp on bit 7
LAMP    EQU     200Q
SENSE   EQU     243Q            ; sense switches
KIPAGE  EQU     0               ; page of the key-in loader and the courier
TOP     EQU     20000Q          ; first address above memory
