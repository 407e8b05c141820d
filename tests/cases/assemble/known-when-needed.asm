; A constant that waited for another has its value as soon as that one is known.
FAST	EQU	NO
SLOW	EQU	NOT FAST
NO	EQU	0
	IF	NOT FAST
	DB	1	;= 001
	ENDIF
	IF	SLOW
	DB	2	;= 002
	ENDIF
	HLT		;= 166
