; run: coldwright assemble %
	ORG	0FFFFH
	JMP	0
