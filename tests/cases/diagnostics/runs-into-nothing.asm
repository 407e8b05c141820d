; run: coldwright assemble %
	MVI	A,1
	OUT	355Q
