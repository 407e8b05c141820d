; run: coldwright lights %
; Calls before the stack pointer is set.
	CALL	NEXT
NEXT:	HLT
	END
