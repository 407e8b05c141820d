; octal.asm     Bytes and words as octal digits.
;
; Purpose       What the lights show, on a terminal.
; Include first one of mc6850.asm, i8251.asm, uart.asm, for SEROUT.
;
; routine  entry           exit                      destroys   bytes  T-states
; OCTOUT   A = byte        three digits sent         A, flags      26  372 with nothing to wait for
; OCTWRD   HL = word       six digits sent           A, flags      27  1059 with nothing to wait for; HL stays
; T-states include the RET, not the CALL.

OCTOUT: PUSH    PSW
        RLC
        RLC
        ANI     3               ; bits 7 and 6
        CALL    OCTDIG
        POP     PSW
        PUSH    PSW
        RRC
        RRC
        RRC
        ANI     7               ; bits 5 to 3
        CALL    OCTDIG
        POP     PSW
        ANI     7               ; bits 2 to 0
OCTDIG: ADI     '0'
        JMP     SEROUT

; Six digits are those of sixteen bits: one bit, then five times three.
OCTWRD: PUSH    H
        PUSH    B
        XRA     A
        DAD     H               ; the top bit to the carry
        RAL
        MVI     B,6
OCTWR1: CALL    OCTDIG
        DCR     B
        JZ      OCTWR2
        XRA     A
        DAD     H
        RAL
        DAD     H
        RAL
        DAD     H
        RAL
        JMP     OCTWR1
OCTWR2: POP     B
        POP     H
        RET
