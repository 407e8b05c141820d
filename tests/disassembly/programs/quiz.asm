; quiz.asm      Questions in rows, pointers to them, answers packed with the high bit, and a list of routines run in turn.

SERST   EQU     211Q
SERDT   EQU     210Q
SERRX   EQU     100Q
SERTX   EQU     2
SERLOW  EQU     0

        ORG     4000H
QUIZ:   LXI     SP,4800H
        CALL    SERINI
        LXI     H,PROGRAM
STEP:   MOV     E,M             ; the next routine of the list
        INX     H
        MOV     D,M
        INX     H
        MOV     A,D
        ORA     E
        JZ      QUIZ
        PUSH    H
        LXI     H,BACK
        PUSH    H
        XCHG
        PCHL
BACK:   POP     H
        JMP     STEP

PROGRAM: DW     GREET,QUEST,ANSWER,MARK,QUEST,ANSWER,MARK,BYE,0

GREET:  LXI     H,HELLO
        JMP     PRINT
BYE:    LXI     H,FAREWELL
        JMP     PRINT

QUEST:  LDA     NUMBER
        ADD     A
        MOV     C,A
        MVI     B,0
        LXI     H,QUESTIONS
        DAD     B
        MOV     E,M
        INX     H
        MOV     D,M
        XCHG
PRINT:  MOV     A,M
        ORA     A
        RZ
        PUSH    PSW
        ANI     177Q
        CALL    SEROUT
        POP     PSW
        RM
        INX     H
        JMP     PRINT

ANSWER: CALL    SERIN
        ANI     177Q
        STA     GIVEN
        JMP     SEROUT

MARK:   LDA     NUMBER
        LXI     H,ANSWERS
        MOV     E,A
        MVI     D,0
        DAD     D
        LDA     GIVEN
        CMP     M
        LXI     H,RIGHT
        JZ      MARK1
        LXI     H,WRONG
MARK1:  CALL    PRINT
        LDA     NUMBER
        INR     A
        ANI     3
        STA     NUMBER
        RET

HELLO:  DB      15Q,12Q,'FOUR QUESTIONS ABOUT BELLS. ANSWER WITH ONE LETTER.',15Q,12Q,0
FAREWELL: DB    'COME BAC','K'+200Q
RIGHT:  DB      ' YE','S'+200Q
WRONG:  DB      ' N','O'+200Q
QUESTIONS: DW   Q1,Q2,Q3,Q4
ANSWERS: DB     'BACB'
Q1:     DB      'Is the treble the (A) lowest or the (B) highest bell? ',0
Q2:     DB      'How many changes have three bells? (A) 6 (B) 9 ',0
Q3:     DB      'What holds a bell? (A) stay (B) slider (C) headstock ',0
Q4:     DB      'What stops it? (A) rope (B) stay ',0

        INCLUDE 'uart.asm'
NUMBER  EQU     4700H
GIVEN   EQU     4701H
        END     QUIZ
