; run: coldwright assemble %
	ORG	100H
	DB	1,2,3
	ORG	102H
	DB	4
