; carrier.asm   A loader that calls a ROM elsewhere, with a check by tables that it makes itself, tries again, and texts that end by bit 7.
MONIT   EQU     0F800H
CONOUT  EQU     0F803H
CONIN   EQU     0F806H
        ORG     0E000H
        JMP     START
        DB      'V1.3'
        DW      7A3FH
START:  DI
        LXI     SP,STACK
        LXI     H,HEAD
        CALL    MSG
        CALL    CRCTAB
WAIT:   CALL    CONIN
        CPI     3
        JZ      MONIT
        CPI     'L'
        JZ      LOAD
        CPI     'G'
        JZ      GO
        CPI     'V'
        CZ      VERIFY
        JMP     WAIT
LOAD:   LXI     D,0FFFFH
        CALL    RECV
        JC      BAD
        MOV     B,A
        ORA     A
        JZ      ENDL
        CALL    RECV
        JC      BAD
        MOV     L,A
        CALL    RECV
        JC      BAD
        MOV     H,A
LD1:    CALL    RECV
        JC      BAD
        MOV     M,A
        INX     H
        DCR     B
        JNZ     LD1
        CALL    RECV
        CMP     D
        JNZ     BAD
        CALL    RECV
        CMP     E
        JZ      LOAD
BAD:    LXI     H,TRIES
        DCR     M
        JNZ     LOAD
        LXI     H,EMSG
        CALL    MSG
        JMP     WAIT
ENDL:   CALL    RECV
        MOV     L,A
        CALL    RECV
        MOV     H,A
        SHLD    ENTRY
        JMP     WAIT
GO:     LHLD    ENTRY
        PCHL
VERIFY: PUSH    B
        LXI     H,0E000H
        LXI     B,400H
        XRA     A
VE1:    XRA     M
        INX     H
        PUSH    PSW
        DCX     B
        MOV     A,B
        ORA     C
        JZ      VE2
        POP     PSW
        JMP     VE1
VE2:    POP     PSW
        POP     B
        RZ
        LXI     H,EMSG
MSG:    MOV     A,M
        ANI     7FH
        MOV     C,A
        CALL    CONOUT
        MOV     A,M
        ORA     A
        RM
        INX     H
        JMP     MSG
RECV:   PUSH    B
        LXI     B,0
RE1:    IN      60Q
        ANI     80H
        JNZ     RE2
        DCX     B
        MOV     A,B
        ORA     C
        JNZ     RE1
        POP     B
        STC
        RET
RE2:    POP     B
        IN      156Q
        PUSH    PSW
        CALL    CRC
        POP     PSW
        ORA     A
        RET
CRC:    PUSH    H
        PUSH    B
        XRA     D
        MOV     L,A
        MVI     H,TABLE SHR 8
        MOV     A,M
        XRA     E
        MOV     D,A
        INR     H
        MOV     E,M
        POP     B
        POP     H
        RET
CRCTAB: MVI     B,0
CT1:    MOV     D,B
        MVI     E,0
        MVI     C,8
CT2:    MOV     A,E
        ADD     A
        MOV     E,A
        MOV     A,D
        RAL
        MOV     D,A
        JNC     CT3
        MOV     A,D
        XRI     10H
        MOV     D,A
        MOV     A,E
        XRI     21H
        MOV     E,A
CT3:    DCR     C
        JNZ     CT2
        MOV     L,B
        MVI     H,TABLE SHR 8
        MOV     M,D
        INR     H
        MOV     M,E
        INR     B
        JNZ     CT1
        RET
HEAD:   DB      13,10,'LOADER READ','Y'+80H
EMSG:   DB      'LOST I','T'+80H
TABLE   EQU     0D000H
ENTRY   EQU     0CF00H
TRIES   EQU     0CF02H
STACK   EQU     0CFF0H
        END     START
