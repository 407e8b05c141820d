; Statements parted by `!`: each is as good as a line of its own, wherever a line can stand.
START:	MVI A,1! OUT 347Q! INR A	;= 076 001 323 347 074 ;! 17 signs `!` between statements
	DB '!!', '!' ! DB 2	;= 041 041 041 002
LATE	EQU 5! DB LATE		;= 005
	IF LATE EQ 5! DB 1! ELSE! DB 2! ENDIF	;= 001
	IF 0! DB 3! ENDIF! DB 4	;= 004
TWICE	MACRO X! DB X! DB X! ENDM	; and the body in one line
	TWICE 6		;= 006 006
QUOTE	MACRO X! DB '&X'! ENDM
	QUOTE A! B	; arguments keep the sign ;= 101 040 102
	REPT 2! DB 7! ENDM	;= 007 007
	JMP START!	;= 303 000 000
