; run: coldwright assemble % -D PORT=0o120 -D WIDE -D M=5
PORT	EQU	1
	IF	WIDE
	OUT	PORT
	ENDIF
	HLT
