; table.asm     A program for the monitor: the times table of seven, on the terminal.

SERST   EQU     225Q
SERDT   EQU     224Q
SERMOD  EQU     116Q
STACK   EQU     7776Q

        ORG     2000Q
TABLE:  LXI     SP,STACK
        MVI     B,0             ; the product
NEXT:   MOV     A,B
        ADI     7
        MOV     B,A
        CALL    OCTOUT
        MVI     A,' '
        CALL    SEROUT
        MOV     A,B
        CPI     70
        JNZ     NEXT
        HLT

        INCLUDE 'i8251.asm'
        INCLUDE 'octal.asm'
        END     TABLE
