; run: coldwright shorten % --apply -o -
; Three bytes too long for the top of memory, and written without an eye on that.
LAMPS   EQU     275Q             ; port
        ORG     177730Q         ; the last 40 bytes
START:  LXI     SP,2000Q
        MVI     A,0             ; no lamp
        STA     1777Q
NEXT:   LDA     1777Q
        OUT     LAMPS
        CPI     0               ; all the way round?
        JNZ     MORE
        JMP     AGAIN
MORE:   CALL    BEAT
        JMP     STEP
AGAIN:  MVI     A,1
        STA     1777Q
        JMP     177740Q         ; NEXT, by its number: it stays there
STEP:   RLC
        STA     1777Q
        JMP     NEXT
BEAT:   RET
        STUFFTO 0,377Q
        END     START
