; run: coldwright assemble %
	INCLUDE	'no-such-file.asm'
