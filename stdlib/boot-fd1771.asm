; boot-fd1771.asm  Boot loader for the FD1771: a program from sectors by marks, of 128 bytes each.
;
; Purpose       Selects a drive, brings its head to track 0, reads sectors from one on, checks them and starts what they
;               make. The same source serves a ROM and a twin in memory: it writes nothing within itself.
; Define first  FDST, FDTR, FDSC, FDDT   ports of status and command, track, sector, data
;               FDINV   377Q if the board leaves the chip's bus inverted, 0 if it turns it round
;               FDREQ   port of the request lines; FDDRQ, FDINT masks of DRQ and of INTRQ there
;               FDLOW   mask of those of the two that are 0 for yes; 0 if none is
;               FDHOLD  1 if the port FDREQ holds the processor until a line says yes, 0 if it does not
;               FDDRV, FDSEL   port that selects a drive, and the byte that does
;               FDRATE  step rate of the drive: 0 for 6 ms, 2 for 10, 3 for 20, at 2 MHz
;               FDTRK, FDSEC   track and sector of the first sector
;               FDFRST, FDLAST   numbers of the first and the last sector of a track
;               FDCNT   number of sectors, 1 to 255
;               FDADR   where the first one belongs; FDENT the entry
;               FDTRY   how often a sector is tried
;               FDSTK   the address above the stack: 8 bytes are used
;               FDLMP   output port for complaints
; Source        Western Digital FD1771-01 data sheet; a byte of single density at 250 kbit/s comes every 64 T-states.
;
; routine  entry           exit                      destroys   bytes  T-states
; FDBOOT   -               at FDENT                  all          153 115 two bytes of data; if FDHOLD is 1, 129 and 94
;
; Complaints    It puts a number out at FDLMP and stops by HLT; the bits are those of the chip's status:
;               200  no disk turns in the drive within about 2 seconds
;                21  the track does not say that it is the one wanted, or track 0 did not come; 11 its checks are wrong
;                20  the sector was not found
;                10  a check does not agree
;                 4  a byte was lost: the loop is too slow

FDBOOT: LXI     SP,FDSTK
        MVI     A,320Q XOR FDINV ; the restore since RESET ends
        OUT     FDST
        MVI     A,FDSEL
        OUT     FDDRV
        LXI     H,0
FDRDY:  DCX     H
        MOV     A,H
        ORA     L
        MVI     A,200Q
        JZ      FDFAIL
        IN      FDST
        ADD     A               ; bit 7: not ready
        IF      FDINV NE 0
        JNC     FDRDY
        ELSE
        JC      FDRDY
        ENDIF
        MVI     A,(14Q + FDRATE) XOR FDINV ; restore, load the head, verify
        CALL    FDMOVE
        LXI     H,FDADR
        LXI     D,FDTRK SHL 8 + FDSEC
        MVI     B,FDCNT
FDSEEK: MOV     A,D
        IF      FDINV NE 0
        CMA
        ENDIF
        OUT     FDDT
        MVI     A,(34Q + FDRATE) XOR FDINV ; seek, load the head, verify
        CALL    FDMOVE
FDNEXT: MVI     C,FDTRY
FDREAD: PUSH    B
        PUSH    D
        PUSH    H
        MOV     A,E
        IF      FDINV NE 0
        CMA
        ENDIF
        OUT     FDSC
        IF      FDHOLD EQ 0
        LXI     B,(FDDRQ OR FDINT) SHL 8 + 64
        MVI     D,FDLOW
        ELSE
        MVI     C,128
        ENDIF
        MVI     A,210Q XOR FDINV ; read a sector, the head being at rest
        OUT     FDST

; Either line lets a byte pass. When the command ends too early INTRQ stays up, and the rest is soon counted off.
FDBYTE:
        IF      FDHOLD EQ 0
        IN      FDREQ
        XRA     D
        ANA     B
        JZ      FDBYTE
        IN      FDDT
        IF      FDINV NE 0
        CMA
        ENDIF
        MOV     M,A
        INX     H
FDODD:  IN      FDREQ
        XRA     D
        ANA     B
        JZ      FDODD
        ELSE
        IN      FDREQ           ; holds
        ENDIF
        IN      FDDT
        IF      FDINV NE 0
        CMA
        ENDIF
        MOV     M,A
        INX     H
        DCR     C
        JNZ     FDBYTE
        CALL    FDDONE
        ANI     234Q
        JZ      FDGOOD
        POP     H               ; back to where it belongs
        POP     D
        POP     B
        DCR     C
        JNZ     FDREAD
FDFAIL: OUT     FDLMP
        HLT

FDGOOD: INX     SP
        INX     SP
        POP     D
        POP     B
        DCR     B
        JZ      FDENT
        INR     E
        MVI     A,FDLAST
        CMP     E
        JNC     FDNEXT
        MVI     E,FDFRST
        INR     D
        JMP     FDSEEK

FDMOVE: OUT     FDST
        CALL    FDDONE
        ANI     30Q             ; the track, or its checks
        RZ
        INR     A
        JMP     FDFAIL

FDDONE: IN      FDREQ           ; to the end of a command
        IF      FDHOLD EQ 0
        IF      (FDINT AND FDLOW) NE 0
        CMA
        ENDIF
        ANI     FDINT
        JZ      FDDONE
        ENDIF
        IN      FDST
        IF      FDINV NE 0
        CMA
        ENDIF
        RET
