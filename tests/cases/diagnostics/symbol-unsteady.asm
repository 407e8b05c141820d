; run: coldwright assemble %
	MVI	A,COUNT
COUNT	SET	1
COUNT	SET	2
	HLT
