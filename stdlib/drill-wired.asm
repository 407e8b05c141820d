; drill-wired.asm  A drive without registers, to be single-stepped: it obeys, or it does not.
;
; Purpose       Selects the drive and loads its head, reads what it shows, steps the head in and out again, and begins
;               anew. Between the steps of a hand any drive has time enough. The lights show what each IN reads.
; Define first  BWDATA, BWSTAT, BWNUM, BWCMD   ports, as boot-wired.asm says
;               BWSEL, BWIN, BWOUT   bytes for BWCMD, as there
;
; routine  entry           exit                      destroys   bytes  T-states
; DRILL    -               -                         A          31     135 once round

DRILL:  MVI     A,BWSEL
        OUT     BWCMD
        IN      BWSTAT          ; ready? at rest? on track 0?
        IN      BWNUM           ; the sectors pass
        IN      BWDATA
        MVI     A,BWIN
        OUT     BWCMD
        MVI     A,BWSEL
        OUT     BWCMD
        IN      BWSTAT          ; track 0 has gone
        MVI     A,BWOUT
        OUT     BWCMD
        MVI     A,BWSEL
        OUT     BWCMD
        JMP     DRILL
