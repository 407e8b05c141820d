; ports.asm     What the marsh's machine is wired to.

SERST   EQU     337Q            ; cassette interface: status and control
SERDT   EQU     336Q            ; its data
SERFMT  EQU     21Q             ; 8N2, clock of 16 times the speed
LAMPS   EQU     350Q
KIPAGE  EQU     0               ; page of the key-in loader and the courier
TOP     EQU     20000Q          ; first address above memory

FDST    EQU     164Q            ; disk: status and command
FDTR    EQU     165Q            ; track
FDSC    EQU     166Q            ; sector
FDDT    EQU     167Q            ; data
FDINV   EQU     0
FDREQ   EQU     110Q            ; requests
FDDRQ   EQU     1               ; a byte is asked for
FDINT   EQU     20Q             ; the command is done
FDLOW   EQU     0
FDHOLD  EQU     0
FDDRV   EQU     173Q            ; selects the drive
FDSEL   EQU     10Q
FDRATE  EQU     2               ; 10 ms: the drive steps in 8
FDLMP   EQU     LAMPS
