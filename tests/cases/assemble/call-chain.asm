; run: coldwright assemble %
; A problem inside macros shows the calls that led to it.
PUT	MACRO	VALUE
	MVI	A,VALUE
	OUT	BELL
	ENDM
PEAL	MACRO	N
	REPT	N
	PUT	400
	ENDM
	ENDM
BELL	EQU	347Q
	PEAL	2
	HLT
