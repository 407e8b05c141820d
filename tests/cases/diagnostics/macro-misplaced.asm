; run: coldwright assemble %
WAIT	MACRO
	NOP
	LOCAL	AGAIN
AGAIN:	JMP	AGAIN
	ENDM
	WAIT
