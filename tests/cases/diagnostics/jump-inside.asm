; run: coldwright assemble %
	JMP	$+4
	MVI	A,5
	HLT
