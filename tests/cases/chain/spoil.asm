; A stage that goes wrong in its own way.
        ORG     0
SPOIL:  STA     401Q           ; a byte of the bell
        HLT
        END     SPOIL
