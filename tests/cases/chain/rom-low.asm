; The lower part of what lies in a socket; it goes on into the other.
        ORG     170000Q
ROMLOW: JMP     170100Q
        END     ROMLOW
