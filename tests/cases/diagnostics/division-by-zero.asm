; run: coldwright assemble %
SIZE	EQU	0
	DB	100/SIZE
