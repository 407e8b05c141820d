; IF takes everything but 0 as true, ELSE turns it over, and both nest.
YES	EQU	0FFFFH
NO	EQU	0
	IF	YES
	DB	1	;= 001
	ELSE
	DB	2
	ENDIF
	IF	NO
	DB	3
	THIS LINE IS NOT READ ' ( <
	IF	YES
	DB	4
	ELSE
	DB	5
	ENDIF
	ELSE
	IF	1
	DB	6	;= 006
	IF	NO
	DB	7
	ENDIF
	ENDIF
	ENDIF
	IF	YES AND NOT NO
	DB	8	;= 010
	ENDIF
	IF	2	;! the condition comes to 2
	DB	9	;= 011
	ENDIF
	IF	2 NE 0
	DB	10	;= 012
	ENDIF
LAB:	IF	1
	DW	LAB	;= 005 000
	ENDIF
	IF	NO
SKIP	MACRO
	IF	1
	ENDM
	ENDIF
	ENDIF
	HLT	;= 166
