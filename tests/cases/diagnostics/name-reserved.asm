; run: coldwright assemble %
M:	JMP	0
