; run: coldwright assemble %
; the file include-ring.asm
	INCLUDE	'include-ring.asm'
