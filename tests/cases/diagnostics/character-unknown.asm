; run: coldwright assemble %
	ANI	7 & 3
	HLT
