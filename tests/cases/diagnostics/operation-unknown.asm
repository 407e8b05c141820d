; run: coldwright assemble %
	MOVE	A,B
	HLT
