; run: coldwright assemble %
BUFFER	EQU	1FFH
	INSIST	LOW BUFFER EQ 0,'the buffer must start on a page'
