; load-blocks.asm   Second-stage loader for the framing `blocks`.
;
; Purpose       Reads numbered, checked blocks to where each belongs, and starts the program that they make.
; Define first  LDSTK   the address above the stack: 8 bytes are used
;               LDPORT  output port for complaints
; Include first one of mc6850.asm, i8251.asm, uart.asm, for SERIN; call SERINI before.
;
; routine  entry           exit                      destroys   bytes  T-states
; LOADBL   -               at the entry on the tape  all          111  190 a byte of data at most
;
; Complaints    It puts a number out at LDPORT and stops by HLT, at an address of its own for each:
;               1  LDLOST  a block is missing, or comes twice
;               2  LDBAD   a check does not agree
;               3  LDMEM   memory does not keep what is stored: ROM, or none there
;               The address lights then show the byte behind the HLT. Wind the tape back and start again.

LOADBL: LXI     SP,LDSTK
        MVI     C,0             ; the number of the next block
LDNEXT: CALL    SERIN
        CPI     332Q            ; leader and gaps are blank
        JNZ     LDNEXT
        LXI     D,332Q SHL 8 + 332Q ; both sums: the mark counts
        CALL    LDGET           ; number
        CMP     C
        JNZ     LDLOST
        INR     C
        CALL    LDGET           ; length
        MOV     B,A
        CALL    LDGET           ; address, or the entry
        MOV     L,A
        CALL    LDGET
        MOV     H,A
        MOV     A,B
        ORA     A
        JZ      LDEND
LDDATA: CALL    LDGET
        MOV     M,A
        CMP     M
        JNZ     LDMEM
        INX     H
        DCR     B
        JNZ     LDDATA
        CALL    LDCHK
        JMP     LDNEXT
LDEND:  CALL    LDCHK
        PCHL

LDGET:  CALL    SERIN           ; a byte into both sums
        PUSH    PSW
        ADD     D
        ACI     0
        MOV     D,A
        ADD     E
        ACI     0
        MOV     E,A
        POP     PSW
        RET

LDCHK:  MOV     A,D             ; the check: first sum, second sum
        CALL    LDONE
        MOV     A,E
LDONE:  INR     A               ; 255 stands for 0
        JZ      LDONE1
        DCR     A
LDONE1: PUSH    D
        MOV     D,A
        CALL    SERIN
        CMP     D
        POP     D
        RZ

LDBAD:  MVI     A,2
        OUT     LDPORT
        HLT
LDLOST: MVI     A,1
        OUT     LDPORT
        HLT
LDMEM:  MVI     A,3
        OUT     LDPORT
        HLT
