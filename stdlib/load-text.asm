; load-text.asm    What the loaders of text share: two digits as a byte, and complaints.
;
; Purpose       load-intel-hex.asm and load-s-record.asm include it where a record's check has just failed; it complains at
;               once. A text loader of your own can do the same.
; Define first  LDPORT  output port for complaints
; Include first one of mc6850.asm, i8251.asm, uart.asm, for SERIN.
;
; routine  entry           exit                      destroys   bytes  T-states
; LDBYTE   D = sum so far  A = byte, added to D      E, flags      35  310 and twice that of SERIN
; LDTEXT   -               A = character, no parity  flags          6  34 and that of SERIN
; T-states include the RET, not the CALL; for LDBYTE at most.
;
; Complaints    LDBAD, LDMEM, LDCHAR and LDKIND put 2, 3, 4 and 5 out at LDPORT and stop by HLT.

LDBAD:  MVI     A,2
        OUT     LDPORT
        HLT
LDMEM:  MVI     A,3
        OUT     LDPORT
        HLT
LDCHAR: MVI     A,4
        OUT     LDPORT
        HLT
LDKIND: MVI     A,5
        OUT     LDPORT
        HLT

LDBYTE: CALL    LDDIG           ; two digits to A, and into the sum
        RLC
        RLC
        RLC
        RLC
        MOV     E,A
        CALL    LDDIG
        ORA     E
        MOV     E,A
        ADD     D
        MOV     D,A
        MOV     A,E
        RET

LDDIG:  CALL    LDTEXT
        SUI     '0'
        CPI     10
        RC
        SUI     'A'-'0'
        CPI     6
        JNC     LDCHAR
        ADI     10
        RET

LDTEXT: CALL    SERIN           ; without parity
        ANI     177Q
        RET
