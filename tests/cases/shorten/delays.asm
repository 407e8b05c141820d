; run: coldwright shorten %
; What passes time, whatever it is filled with, is left alone; so is what stands between ports and waits.
LAMPS   EQU     275Q             ; port
        ORG     1000Q
START:  LXI     SP,2000Q
        LXI     H,0             ; filled with the stack
STACKS: PUSH    PSW
        MVI     A,0
        POP     PSW
        XTHL
        XTHL
        DCX     H
        MOV     A,H
        CPI     0
        JNZ     STACKS
        MVI     B,100           ; with a byte that nobody wants
READS:  LDA     START
        MVI     A,0
        DCR     B
        JNZ     READS
        MVI     B,0             ; with a routine that does nothing
CALLS:  CALL    PAUSE
        MVI     A,0
        DCR     B
        JNZ     CALLS
        MVI     A,1             ; a pulse
        OUT     LAMPS
        MOV     A,A
        MVI     A,0
        OUT     LAMPS
        MVI     B,8             ; bit by bit
        MVI     C,123Q
BITS:   MOV     A,C
        RRC
        MOV     C,A
        MVI     D,0
        OUT     LAMPS
        DCR     B
        JNZ     BITS
        OUT     LAMPS
        CALL    PAUSE
        MVI     A,0
        OUT     LAMPS
        HLT
PAUSE:  MOV     A,A
        MVI     E,0
        MVI     E,0
        RET
        END     START
