; chimes.asm    Six bells, hunting plainly up and down.
;
; The sense switches set the tempo: 1 is fast, 377 is slow.

        INCLUDE 'ports.asm'

        ORG     400Q
CHIMES: LXI     SP,TOP
PEAL:   LXI     H,CHANGES
STRIKE: MOV     A,M
        ORA     A
        JZ      PEAL            ; all changes rung: from the beginning
        OUT     BELLS
        CALL    REST
        XRA     A               ; the hammers fall back
        OUT     BELLS
        CALL    REST
        INX     H
        JMP     STRIKE

; Waits between two blows: 256 turns of 15 T-states for each unit of the tempo.
REST:   IN      SENSE
        ORA     A
        JNZ     REST1
        INR     A               ; no tempo at all would be no rest
REST1:  MOV     B,A
REST2:  MVI     C,0
REST3:  DCR     C
        JNZ     REST3
        DCR     B
        JNZ     REST2
        RET

; One blow a byte, the striker's bit set. In each row the bells change places with their neighbours.
CHANGES: DB     1,2,4,10Q,20Q,40Q
        DB      2,1,10Q,4,40Q,20Q
        DB      2,10Q,1,40Q,4,20Q
        DB      10Q,2,40Q,1,20Q,4
        DB      10Q,40Q,2,20Q,1,4
        DB      40Q,10Q,20Q,2,4,1
        DB      40Q,20Q,10Q,4,2,1
        DB      20Q,40Q,4,10Q,1,2
        DB      20Q,4,40Q,1,10Q,2
        DB      4,20Q,1,40Q,2,10Q
        DB      4,1,20Q,2,40Q,10Q
        DB      1,4,2,20Q,10Q,40Q
        DB      0

        END     CHIMES
