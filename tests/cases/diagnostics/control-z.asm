; run: coldwright assemble %
	OUT	355Q
	HLT

	JMP	0
