; run: coldwright assemble %
FLAGS	EQU	6
	IF	FLAGS
	NOP
	ENDIF
	HLT
