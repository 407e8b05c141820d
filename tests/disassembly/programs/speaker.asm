; speaker.asm   Texts behind their CALLs, ended in three ways, and a word behind another.

SERST   EQU     211Q
SERDT   EQU     210Q
SERMOD  EQU     316Q

        ORG     3000H
SPEAK:  LXI     SP,3800H
        CALL    SERINI
        CALL    SAY
        DB      15Q,12Q,'GOOD MORNING',0
        CALL    TELL
        DB      'COUN','T'+200Q
        MVI     B,3
AGAIN:  CALL    SHOW
        DB      'THE NEXT ONE IS $'
        MOV     A,B
        ADI     '0'
        CALL    SEROUT
        CALL    STORE
        DW      COUNTS
        DCR     B
        JNZ     AGAIN
        CALL    SAY
        DB      'THAT WAS ALL',15Q,12Q,0
        JMP     SPEAK

; The text behind the CALL, up to a zero.
SAY:    XTHL
SAY1:   MOV     A,M
        INX     H
        ORA     A
        JZ      SAY2
        CALL    SEROUT
        JMP     SAY1
SAY2:   XTHL
        RET

; The text behind the CALL, whose last character has bit 7 set.
TELL:   POP     H
TELL1:  MOV     A,M
        ANI     177Q
        CALL    SEROUT
        MOV     A,M
        INX     H
        RLC
        JNC     TELL1
        PCHL

; The text behind the CALL, up to a dollar sign.
SHOW:   POP     H
SHOW1:  MOV     A,M
        INX     H
        CPI     '$'
        JZ      SHOW2
        CALL    SEROUT
        JMP     SHOW1
SHOW2:  PUSH    H
        RET

; Counts in the word behind the CALL.
STORE:  XTHL
        PUSH    D
        MOV     E,M
        INX     H
        MOV     D,M
        INX     H
        LDAX    D
        INR     A
        STAX    D
        POP     D
        XTHL
        RET
COUNTS: DB      0

        INCLUDE 'i8251.asm'
        END     SPEAK
