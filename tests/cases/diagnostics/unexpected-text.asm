; run: coldwright assemble %
	MVI	A 5
	HLT
