; load-s-record.asm   Second-stage loader for Motorola S-records with addresses of 16 bits.
;
; Purpose       Reads S1 records to where each belongs, passes over S0 and S5, and starts the program where the S9 record
;               says.
; Define first  LDPORT  output port for complaints
; Include first one of mc6850.asm, i8251.asm, uart.asm, for SERIN; call SERINI before, with a stack of 10 bytes.
; Source        Motorola, "M68000 Family Programmer's Reference Manual", appendix C.
;
; routine  entry           exit                      destroys   bytes  T-states
; LOADSR   -               at the address of the S9  all          159  650 a byte of data at most
;
; Complaints    It puts a number out at LDPORT and stops by HLT, at an address of its own for each:
;               2  LDBAD   a check does not agree
;               3  LDMEM   memory does not keep what is stored: ROM, or none there
;               4  LDCHAR  a character that is no hexadecimal digit stands within a record
;               5  LDKIND  a record with a longer address, or of no kind at all

LOADSR: CALL    LDTEXT
        CPI     'S'             ; line ends, blank tape and anything else between records
        JNZ     LOADSR
        CALL    LDTEXT          ; kind
        MOV     C,A
        MVI     D,0             ; sum
        CALL    LDBYTE          ; count of address, data and check
        SUI     3
        JC      LDKIND
        MOV     B,A
        CALL    LDBYTE          ; address, high byte first
        MOV     H,A
        CALL    LDBYTE
        MOV     L,A
        MOV     A,C
        CPI     '9'
        JZ      LDEOF
        CPI     '0'
        JZ      LDDATA
        CPI     '5'
        JZ      LDDATA
        CPI     '1'
        JNZ     LDKIND
LDDATA: MOV     A,B
        ORA     A
        JZ      LDSUM
        CALL    LDBYTE
        DCR     B
        MOV     E,A
        MOV     A,C
        CPI     '1'
        JNZ     LDDATA          ; passed over
        MOV     M,E
        MOV     A,E
        CMP     M
        JNZ     LDMEM
        INX     H
        JMP     LDDATA
LDSUM:  CALL    LDLAST
        JMP     LOADSR
LDEOF:  MOV     A,B
        ORA     A
        JNZ     LDKIND          ; an S9 has no data
        CALL    LDLAST
        PCHL

LDLAST: CALL    LDBYTE          ; with its check the sum of a record is 377Q
        INR     D
        RZ

        INCLUDE 'load-text.asm'
