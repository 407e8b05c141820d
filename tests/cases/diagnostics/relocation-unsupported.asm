; run: coldwright assemble %
	CSEG
	HLT
