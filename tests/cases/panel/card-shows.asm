; run: coldwright card % --machine machine.toml
; It shows the sense switches on the shutters, again and again.
        ORG     0
SHOW:   IN      140Q
        OUT     325Q
        JMP     SHOW
        END     SHOW
