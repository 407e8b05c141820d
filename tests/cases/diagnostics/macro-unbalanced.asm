; run: coldwright assemble %
TWICE	MACRO	R
	ADD	R
	ADD	R
