; run: coldwright assemble %
	LIMIT	4,'the loader'
	LXI	H,100H
	MVI	M,0
	HLT
	ENDLIMIT
