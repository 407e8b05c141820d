; run: coldwright assemble %
	IF	0
	NOP
