; keyin-uart.asm    Key-in loader for the framing `bare`, on a hard-wired UART: 17 bytes to toggle.
;
; Purpose       Reads one page of memory from a tape and starts what it holds. It may be started anywhere in the leader;
;               start the tape first.
; Define first  KIPAGE  the page, 0 to 377Q: the high byte of all its addresses
;               SERST   port of the status
;               SERDT   port of the data
;               SERRX   mask of the bit for "a character waits"
;               SERLOW  the same mask if that bit is 0 for yes, else 0
;
; routine  entry           exit                      destroys   bytes  T-states
; KEYIN    -               at the entry of what was  A, HL,        17  10 and 59 a character, 27 a turn of waiting
;                          loaded                    flags
; No stack is used.
;
; How it works  The first byte read falls on KISTEP. Blank tape is 000, NOP: stored there again and again it changes
;               nothing. The first other byte of a `bare` tape is DCR L: from then on the pointer moves down, through
;               the bottom of the page and round to its top, until it meets the operand of the last JMP. The tape writes the
;               page there and then the low byte of the entry, and the next jump leaves the loader.
; Why no smaller  A pointer (3), a poll (7), a read (2), a store (1) and a jump back (3) are 16 bytes, and the one that is
;               left, the NOP, skips the leader, steps the pointer and ends the loop. A mask of one instruction byte (RRC, JNC)
;               would save one byte on a board with the bit at an end, and need tapes of its own.

        ORG     KIPAGE SHL 8 + 10Q
KEYIN:  LXI     H,KISTEP
KISTEP: NOP                     ; the tape makes this DCR L
KIPOLL: IN      SERST
        ANI     SERRX
        IF      (SERRX AND SERLOW) NE 0
        JNZ     KIPOLL
        ELSE
        JZ      KIPOLL
        ENDIF
        IN      SERDT
        MOV     M,A
        JMP     KISTEP          ; the tape makes this a jump to the entry
