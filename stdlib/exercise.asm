; exercise.asm  Two small programs to single-step, so that the lights tell whether a port is wired right.
;
; Purpose       EXECHO copies an input port to an output port for ever. EXWALK sends a single bit round an output port.
;               Neither needs a stack or memory.
; Define first  EXIN    input port
;               EXOUT   output port
;
; routine  entry           exit                      destroys   bytes  T-states
; EXECHO   -               never                     A              7  30 a turn
; EXWALK   -               never                     A, carry       8  24 a turn
; How to read the lights: a turn of EXECHO takes eight machine cycles; in the third the address lights show the input
; port twice and the data lights what was read; in the fifth the data lights show it again, going out.

EXECHO: IN      EXIN
        OUT     EXOUT
        JMP     EXECHO

EXWALK: MVI     A,1
EXWAL1: OUT     EXOUT
        RLC
        JMP     EXWAL1
