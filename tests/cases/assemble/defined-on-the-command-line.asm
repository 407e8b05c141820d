; run: coldwright assemble % -D PORT=0o60 -D WIDE -D M=5
PORT	EQU	5
	IF	WIDE
	OUT	PORT
	ENDIF
	HLT
