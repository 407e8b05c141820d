; boot-wired.asm  Boot loader for a drive without registers: a program from sectors by holes, byte after byte.
;
; Purpose       Selects a drive, brings its head to track 0, reads sectors from one on, checks them, copies each to where
;               it says that it belongs, goes on where it says, and starts what they make. The same source serves a ROM
;               and a twin in memory: it writes nothing within itself.
; Sectors       a mark that is no byte of the sync, track, number, length, address (low byte first), 128 of data, number and
;               track of the next sector (377 if there is none), Fletcher's check over all of it (fletcher16, low byte
;               first): 138 bytes.
; Define first  BWDATA  port at which a byte is fetched
;               BWSTAT  port of the status; BWRDY, BWMAY, BWZERO, BWREST, BWBYTE masks there of ready, may step,
;                       track zero, head settled, byte waits; BWLOW mask of those of them that are 0 for yes
;               BWNUM   port of the sector's number; BWMASK mask of the number there, BWSFT the place of its lowest bit
;               BWHOLE  mask of the sector's pulse at BWNUM; BWNLOW the same if it is 0 for yes, else 0
;               BWCMD   port of the commands; BWSEL the byte that selects the drive and loads its head, BWIN and BWOUT
;                       the same with a step in and with a step out
;               BWTRK, BWSEC   track and number of the first sector
;               BWENT   the entry
;               BWTRY   how often a sector is tried
;               BWMOST  steps after which track 0 must have come, 1 to 255
;               BWBUF   138 bytes of memory for a sector
;               BWSTK   the address above the stack: 8 bytes are used
;               BWLMP   output port for complaints
; Source        common practice; a byte of single density at 250 kbit/s comes every 64 T-states.
;
; routine  entry           exit                      destroys   bytes  T-states
; BWBOOT   -               at BWENT                  all          249 113 two bytes of a sector; 15000 from one to the next
;
; Complaints    It puts a number out at BWLMP and stops by HLT:
;               1  no disk turns in the drive within about 2 seconds, or none any more
;               2  track 0 did not come
;               3  a check does not agree: damaged, or a byte was lost
;               4  the sector is another one: the head is on another track

BWBOOT: LXI     SP,BWSTK
        MVI     A,BWSEL
        OUT     BWCMD
        LXI     H,0
BWWAIT: DCX     H
        MOV     A,H
        ORA     L
        JZ      BWNONE
        CALL    BWSEE
        ANI     BWRDY
        JZ      BWWAIT
        MVI     B,BWMOST
BWHOME: CALL    BWSEE           ; step out until track 0 shows
        ANI     BWZERO
        JNZ     BWHEAD
        DCR     B
        MVI     A,1
        JZ      BWNONE
        MVI     A,BWOUT
        CALL    BWSTEP
        JMP     BWHOME
BWHEAD: CALL    BWSET           ; long enough to change direction, too
        MVI     B,0             ; the track of the head
        LXI     D,BWTRK SHL 8 + BWSEC
BWSEEK: MOV     A,B
        CMP     D
        JZ      BWHERE
        MVI     A,BWIN
        CALL    BWSTEP
        INR     B
        JMP     BWSEEK
BWHERE: CALL    BWSET
        MVI     C,BWTRY
BWREAD: PUSH    B
        MOV     A,E             ; the number with its pulse, as it will show
        REPT    BWSFT
        ADD     A
        ENDM
        IF      BWNLOW EQ 0
        ORI     BWHOLE
        ENDIF
        MOV     B,A
BWHOLD: CALL    BWSEE
        ANI     BWRDY
        JZ      BWNONE
        IN      BWNUM
        ANI     BWHOLE OR BWMASK
        CMP     B
        JNZ     BWHOLD
        LXI     H,BWBUF
        MVI     C,69            ; pairs of bytes
BWEVEN: IN      BWSTAT
        ANI     BWBYTE
        IF      (BWBYTE AND BWLOW) NE 0
        JNZ     BWEVEN
        ELSE
        JZ      BWEVEN
        ENDIF
        IN      BWDATA
        MOV     M,A
        INX     H
BWODD:  IN      BWSTAT
        ANI     BWBYTE
        IF      (BWBYTE AND BWLOW) NE 0
        JNZ     BWODD
        ELSE
        JZ      BWODD
        ENDIF
        IN      BWDATA
        MOV     M,A
        INX     H
        DCR     C
        JNZ     BWEVEN
        PUSH    D
        LXI     H,BWBUF
        LXI     D,0
        MVI     C,136
BWSUM:  MOV     A,D
        ADD     M
        ACI     0               ; a carry out counts 1: modulo 255
        MOV     D,A
        ADD     E
        ACI     0
        MOV     E,A
        INX     H
        DCR     C
        JNZ     BWSUM
        MOV     A,D
        CALL    BWSAME
        MOV     A,E
        POP     D
        CZ      BWNEXT
        MVI     A,2
        JNZ     BWBAD
        LXI     H,BWBUF + 1
        MOV     A,D
        CMP     M
        INX     H
        MOV     A,E
        JNZ     BWELSE
        CMP     M
        INX     H
BWELSE: MVI     A,3
        JNZ     BWBAD
        MOV     C,M             ; length
        INX     H
        MOV     E,M
        INX     H
        MOV     D,M
        INX     H
BWCOPY: MOV     A,M
        STAX    D
        INX     H
        INX     D
        DCR     C
        JNZ     BWCOPY
        LHLD    BWBUF + 134
        XCHG
        POP     B
        MOV     A,D
        INR     A               ; 377: that was all
        JZ      BWENT
        JMP     BWSEEK

BWBAD:  POP     B
        DCR     C
        JNZ     BWREAD
BWNONE: INR     A               ; the number of the complaint
        OUT     BWLMP
        HLT

BWSEE:  IN      BWSTAT          ; the status, a one for yes
        IF      BWLOW NE 0
        XRI     BWLOW
        ENDIF
        RET

BWSTEP: OUT     BWCMD
        MVI     A,BWSEL
        OUT     BWCMD
        MVI     L,BWMAY
BWTILL: CALL    BWSEE
        ANA     L
        JZ      BWTILL
        RET

BWSET:  MVI     L,BWREST        ; until the head rests
        JMP     BWTILL

BWNEXT: INX     H
BWSAME: INR     A               ; 255 is 0 in a sum
        JZ      BWCMP0
        DCR     A
BWCMP0: CMP     M
        RET
