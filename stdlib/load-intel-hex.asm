; load-intel-hex.asm  Second-stage loader for Intel HEX text.
;
; Purpose       Reads data records (00) to where each belongs until the end of file record (01). That format carries no entry, so
;               the program goes on at LDRUN.
; Define first  LDPORT  output port for complaints
;               LDRUN   where to go on
; Include first one of mc6850.asm, i8251.asm, uart.asm, for SERIN; call SERINI before, with a stack of 10 bytes.
; Source        Intel, "Hexadecimal Object File Format Specification", Revision A, 1988.
;
; routine  entry           exit                      destroys   bytes  T-states
; LOADHX   -               at LDRUN                  all        130  600 a byte of data at most
; LOADH1   its mark read   at LDRUN                  all        122  the same
; LOADH1 takes up a record whose mark `:` the caller has read.
;
; Complaints    It puts a number out at LDPORT and stops by HLT, at an address of its own for each:
;               2  LDBAD   a check does not agree
;               3  LDMEM   memory does not keep what is stored: ROM, or none there
;               4  LDCHAR  a character that is no hexadecimal digit stands within a record
;               5  LDKIND  a record that is neither data nor end of file

LOADHX: CALL    LDTEXT
        CPI     ':'             ; line ends, blank tape and anything else between records
        JNZ     LOADHX
LOADH1: MVI     D,0             ; sum
        CALL    LDBYTE          ; length
        MOV     B,A
        CALL    LDBYTE          ; address, high byte first
        MOV     H,A
        CALL    LDBYTE
        MOV     L,A
        CALL    LDBYTE          ; kind
        CPI     1
        JZ      LDEOF
        ORA     A
        JNZ     LDKIND
        ORA     B
        JZ      LDSUM           ; no data
LDDATA: CALL    LDBYTE
        MOV     M,A
        CMP     M
        JNZ     LDMEM
        INX     H
        DCR     B
        JNZ     LDDATA
LDSUM:  CALL    LDLAST
        JMP     LOADHX
LDEOF:  CALL    LDLAST
        JMP     LDRUN

LDLAST: CALL    LDBYTE          ; with its check the sum of a record is zero
        MOV     A,D
        ORA     A
        RZ

        INCLUDE 'load-text.asm'
