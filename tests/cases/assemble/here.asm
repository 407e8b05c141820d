; $ is the address of the first byte of the statement, also behind other items.
	ORG	100H
GO:	JMP	$+6	;= 303 006 001
	DW	$,$	;= 003 001 003 001
	DB	LOW $	;= 007
SIZE	EQU	$-GO
	DB	SIZE	;= 010
	ORG	$+10H
	DW	$	;= 031 001
	DS	3
	LXI	H,$	;= 041 036 001
	HLT	;= 166
