; run: coldwright assemble %
	MVI	A,-200
	HLT
