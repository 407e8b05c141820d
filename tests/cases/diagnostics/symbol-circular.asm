; run: coldwright assemble %
FIRST	EQU	SECOND+1
SECOND	EQU	FIRST-1
