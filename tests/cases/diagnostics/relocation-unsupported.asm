; run: coldwright assemble %
	CSEG
	HLT
	DSEG
	DS	8
