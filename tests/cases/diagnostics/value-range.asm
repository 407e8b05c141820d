; run: coldwright assemble %
	MVI	A,256
	HLT
