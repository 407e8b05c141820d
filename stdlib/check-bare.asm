; check-bare.asm  Whether a page that came on a tape of the framing `bare` is whole.
;
; Purpose       The key-in loader has no room for a check, so the stage that it loaded looks at itself first: the bytes 000 to
;               012 and 027 to 377 of its page add up to zero. Between them stands the loader. Call it before anything in
;               the page has been changed.
; Define first  KIPAGE  the page
;
; routine  entry           exit                      destroys   bytes  T-states
; BARECK   -               zero flag: it is whole    A, B, HL,     24  13189
;                                                    flags
; T-states include the RET, not the CALL.

BARECK: LXI     H,KIPAGE SHL 8
        XRA     A
BAREC1: ADD     M
        INR     L
        JZ      BAREC2
        MOV     B,A
        MOV     A,L
        CPI     13Q             ; the loader begins
        MOV     A,B
        JNZ     BAREC1
        MVI     L,27Q           ; and ends
        JMP     BAREC1
BAREC2: ORA     A
        RET
