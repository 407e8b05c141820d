; A page for the key-in loader.
        ORG     31Q
PAGE:   MVI     A,1
        OUT     107Q
        HLT
        END     PAGE
