; hex.asm       Bytes and words as hexadecimal digits.
;
; Purpose       Numbers on a terminal.
; Include first one of mc6850.asm, i8251.asm, uart.asm, for SEROUT.
;
; routine  entry           exit                      destroys   bytes  T-states
; HEXOUT   A = byte        two digits sent           A, flags      23  286 at most with nothing to wait for
; HEXWRD   HL = word       four digits sent          A, flags       5  599 at most with nothing to wait for
; T-states include the RET, not the CALL.

HEXWRD: MOV     A,H
        CALL    HEXOUT
        MOV     A,L
HEXOUT: PUSH    PSW
        RRC
        RRC
        RRC
        RRC
        CALL    HEXDIG
        POP     PSW
HEXDIG: ANI     17Q
        CPI     10
        JC      HEXDI1
        ADI     'A'-'0'-10
HEXDI1: ADI     '0'
        JMP     SEROUT
