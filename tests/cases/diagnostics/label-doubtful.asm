; run: coldwright assemble %
	NOP
HLR
HERE:	JMP	HERE
