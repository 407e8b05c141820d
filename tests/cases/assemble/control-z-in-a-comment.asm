; Comments and strings may hold any character;  control-Z ends nothing there. ;! a control-Z in a comment does not end the text
	DB	1	;= 001
	DB	''	;= 032
SAY	MACRO	T
	DB	T
	ENDM
	SAY	';'	;= 032 073
	HLT		;= 166 ; at the very end it is padding 
