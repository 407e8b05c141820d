; fletcher.asm  Fletcher's check of 16 bits: two sums modulo 255, the second of which sums the first.
;
; Purpose       Unlike a plain sum it notices bytes that changed places, or a zero byte too few or too many.
; Source        J. G. Fletcher, IEEE Trans. Comm. COM-30(1), 1982; RFC 1146.
;
; routine  entry           exit                      destroys   bytes  T-states
; FLETCH   HL = block      D = first, E = second     A, flags      33  124 + 69 a byte
;          BC = bytes, 0 for 65536                   BC = 0, HL behind the end
; T-states include the RET, not the CALL. Each sum is kept as 0..=255 with 255 standing for 0, until the end.

FLETCH: LXI     D,0
FLETC1: MOV     A,D
        ADD     M
        ACI     0               ; a carry out counts 1: modulo 255
        MOV     D,A
        ADD     E
        ACI     0
        MOV     E,A
        INX     H
        DCX     B
        MOV     A,B
        ORA     C
        JNZ     FLETC1
        MOV     A,D
        CALL    FLETC2
        MOV     D,A
        MOV     A,E
        CALL    FLETC2
        MOV     E,A
        RET
FLETC2: INR     A               ; 255 is 0
        RZ
        DCR     A
        RET
