; A bit 7 that a worn tape or a terminal has set in one byte.
	MVÉ A,1	;! the byte 311 (C9H) is no character
	DB µ	;! the byte 265 (B5H) is no character
; résumé in a comment is nobody's fault
	HLT
