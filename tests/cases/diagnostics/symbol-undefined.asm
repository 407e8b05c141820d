; run: coldwright assemble %
	JMP	AGAIN
