; run: coldwright assemble %
; Ünïcödé in front of the first of two places: both are named by line and column in characters.
; ééééééééééééééééééééééééééééééééééééééééééééééééééééééééééééééééééééééééééééééé
FIRST:  NOP             ; «here»
TWICE   MACRO
FIRST:  HLT             ; ééé
        ENDM
        TWICE
        END
