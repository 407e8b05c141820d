; run: coldwright assemble %
	JMP	H
