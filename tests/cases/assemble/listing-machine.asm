; run: coldwright assemble % --machine split.toml -o -
        ORG     400Q
GO:     HLT
        END     GO
