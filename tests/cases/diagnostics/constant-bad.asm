; run: coldwright assemble %
	MVI	A,3FQ
	HLT
