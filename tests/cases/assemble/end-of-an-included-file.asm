; END in an included file ends that file and not the program.
	INCLUDE	'ended.inc'	;= 001
	DB	3	;= 003
LAST	MACRO
	DB	4
	END
	DB	5
	ENDM
	LAST	;= 004
	DB	6
