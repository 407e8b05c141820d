; run: coldwright sheet % --machine over-memory.toml
        ORG     177000Q
UNDER:  JMP     UNDER
        END     UNDER
