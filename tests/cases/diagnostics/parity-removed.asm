; run: coldwright assemble %
; An old file in which every character carries even parity.
        CALL    SIGNAL
        HLT
        INCLUDE 'parity-removed.inc'
        END
