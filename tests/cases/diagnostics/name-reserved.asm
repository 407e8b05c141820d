; run: coldwright assemble %
IN:	JMP	0
