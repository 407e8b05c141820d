; run: coldwright sheet %
	REPT	1025
	NOP
	ENDM
	HLT
