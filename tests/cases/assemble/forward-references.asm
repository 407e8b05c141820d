; Two passes find whatever is defined further on, also through chains of constants.
	JMP	LATER	;= 303 014 000
	LXI	H,ONE	;= 041 064 022
	MVI	A,LOW THREE	;= 076 065
	DW	LATER-FIRST	;= 011 000
ONE	EQU	TWO
TWO	EQU	THREE-1
THREE	EQU	1235H
	DW	$	;= 012 000
FIRST	EQU	3
LATER:	HLT	;= 166
LAST	EQU	LATER
	DB	LAST	;= 014
