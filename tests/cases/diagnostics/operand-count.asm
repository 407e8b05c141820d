; run: coldwright assemble %
	LXI	H
	HLT
