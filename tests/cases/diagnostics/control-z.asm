; run: coldwright assemble %
	OUT	20Q
	HLT

	JMP	0
