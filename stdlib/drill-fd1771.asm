; drill-fd1771.asm  A drive behind an FD1771, to be single-stepped: it obeys, or it does not.
;
; Purpose       Ends what the chip does, selects the drive, brings its head to track 0, looks, steps the head in, looks again,
;               and begins anew. Between the steps of a hand any drive has time enough. The lights show the status: index,
;               track 0, ready.
; Define first  FDST, FDDRV, FDSEL, FDINV, FDRATE   as boot-fd1771.asm says
;
; routine  entry           exit                      destroys   bytes  T-states
; DRILL    -               -                         A          23     98 once round

DRILL:  MVI     A,320Q XOR FDINV ; whatever it does ends
        OUT     FDST
        MVI     A,FDSEL
        OUT     FDDRV
        MVI     A,FDRATE XOR FDINV ; restore, the head unloaded
        OUT     FDST
        IN      FDST            ; track 0; the index pulse comes and goes
        MVI     A,(120Q + FDRATE) XOR FDINV ; one track inward
        OUT     FDST
        IN      FDST            ; track 0 has gone
        JMP     DRILL
