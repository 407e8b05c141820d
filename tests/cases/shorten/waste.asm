; run: coldwright shorten %
; Every kind of waste once.
LAMPS   EQU     275Q             ; port
        ORG     1000Q
START:  LXI     SP,2000Q        ; the stack
        MVI     A,0             ; no lamp
        STA     COUNT
        MVI     B,5             ; two bytes
        MVI     C,7             ; of one pair
        CALL    SHOW
LOOP:   LDA     COUNT
        CPI     0               ; none yet?
        JNZ     MORE
        JMP     DONE
MORE:   ADI     1
        STA     COUNT
        CALL    SHOW
        JMP     LOOP
DONE:   CALL    SHOW
        CALL    TWICE
        HLT
TWICE:  MVI     A,3
        OUT     LAMPS
        MVI     A,3             ; it is there already
        OUT     LAMPS
        CALL    SHOW
        RET
SHOW:   MOV     A,B
        OUT     LAMPS
        MOV     A,C
        OUT     LAMPS
        JZ      BACK
        MOV     A,B
        OUT     LAMPS
        MOV     A,C
        OUT     LAMPS
        JMP     BACK
BACK:   RET
COUNT:  DB      0
        END     START
