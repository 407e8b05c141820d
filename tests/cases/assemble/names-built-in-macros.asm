; A name that is built with & names a macro, opens a conditional or a repetition like any other.
MAKER	MACRO	X,Y
PUT&X	MACRO	V
	DB	V,'&X'
	ENDM
&X&ER	MACRO
	DB	2
	ENDM
L&X&1:	IF	Y
	DB	3
	ENDIF
	ENDM
	MAKER	P,1	;= 003
	PUTP	5	;= 005 120
	PER		;= 002
	DW	LP1	;= 000 000
; Words behind an operation, or a macro, open nothing.
SAY	MACRO	T
	DB	'&T'
	ENDM
QUIET	MACRO
	SAY	REPT
	ENDM
	QUIET		;= 122 105 120 124
	IF	0
	SAY	IF
	SAY	ENDIF
	DB	7
	ENDIF
	HLT		;= 166
