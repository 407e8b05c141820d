; run: coldwright assemble %
	MVI	A,1
TABLE:	DB	8
	DW	TABLE
