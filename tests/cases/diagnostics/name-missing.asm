; run: coldwright assemble %
	EQU	5
