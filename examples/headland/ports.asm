; ports.asm     What the lighthouse's machine is wired to.

SERST   EQU     315Q            ; cassette interface: status and control
SERDT   EQU     314Q            ; its data
SERFMT  EQU     21Q             ; 8N2, clock of 16 times the speed
LAMPS   EQU     22Q
KIPAGE  EQU     0               ; page of the key-in loader and the courier
TOP     EQU     20000Q          ; first address above memory

BWDATA  EQU     233Q            ; disk: a byte
BWSTAT  EQU     271Q            ; its status
BWRDY   EQU     20Q
BWMAY   EQU     10Q
BWZERO  EQU     200Q
BWREST  EQU     2
BWBYTE  EQU     1
BWLOW   EQU     2               ; 0 when the head has settled
BWNUM   EQU     264Q            ; number of the sector
BWMASK  EQU     37Q
BWSFT   EQU     0
BWHOLE  EQU     40Q
BWNLOW  EQU     40Q             ; 0 while the pulse lasts
BWCMD   EQU     373Q            ; commands: select 4, load 2, and low: out 10, in 20, write 40
BWSEL   EQU     76Q
BWIN    EQU     56Q
BWOUT   EQU     66Q
