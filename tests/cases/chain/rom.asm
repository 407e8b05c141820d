; A byte in a socket.
        ORG     170000Q
ROM:    HLT
        END     ROM
