; The directives beyond the manual, listing controls and relocation directives step aside for a user's own names.
LIMIT	EQU	5
STUFF:	MVI	A,LIMIT	;= 076 005
BOUNDARY	DB	1	;= 001
INCLUDE	SET	2
	DB	INCLUDE	;= 002
PAGE:	DW	STUFF,PAGE	;= 000 000 004 000
LIST	EQU	9
NAME:	DB	LIST	;= 011
	LXI	H,NAME	;= 041 010 000
EMBED	MACRO	X
	DB	X,X
	ENDM
	EMBED	7	;= 007 007
RUNAT:	HLT	;= 166
