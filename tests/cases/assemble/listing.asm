; run: coldwright assemble % --notation octal -o -
; The listing: addresses, bytes, T-states, depth, and the names.
PORT	EQU	1Q
STROKE	MACRO	N
	MVI	A,N
	OUT	PORT
	ENDM
	ORG	100Q
START:	LXI	SP,TOP
	IF	PORT EQ 0
	NOP
	ENDIF
	REPT	2
	STROKE	1
	ENDM
	INCLUDE	'two-bytes.inc'
	CZ	START
	JMP	START
TEXT:	DB	'RING THE BELLS',0
	DS	4
TOP:
	RUNAT	1000Q
MOVED:	JMP	MOVED
	ENDRUN
	END	START
