; memtest.asm   A test of memory that finds dead cells, stuck bits and address lines that do nothing.
;
; Purpose       Each cell gets a byte made of its own address and a seed; then all are read back. Call it with the seeds
;               0 and 377Q, so that every bit is tried both ways. What was in the block is lost. The stack must lie
;               elsewhere.
;
; routine  entry           exit                      destroys   bytes  T-states
; MEMTST   HL = block      zero flag: all is well    A, flags      36  52 + 157 a byte
;          BC = bytes, 0 for 65536                   BC
;          D = seed        else HL = the first bad cell, A = its bad bits
; T-states include the RET, not the CALL.

MEMTST: PUSH    H
        PUSH    B
MEMTS1: CALL    MEMBYT
        MOV     M,A
        INX     H
        DCX     B
        MOV     A,B
        ORA     C
        JNZ     MEMTS1
        POP     B
        POP     H
MEMTS2: CALL    MEMBYT
        XRA     M
        RNZ
        INX     H
        DCX     B
        MOV     A,B
        ORA     C
        JNZ     MEMTS2
        RET

MEMBYT: MOV     A,H             ; the byte that belongs at HL
        XRA     L
        XRA     D
        RET
