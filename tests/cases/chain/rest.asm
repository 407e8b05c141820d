        ORG     1000Q
REST:   HLT
        END     REST
