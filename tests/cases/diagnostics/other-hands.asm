; run: coldwright assemble %
* A bell that is struck three times.
STROKES	=	3
STROKES	EQU	3
BELL	=	355Q
	IF	STROKES > 2
	MVI	B,STROKES
	ENDIF
	OUT	BELL
	HLT
