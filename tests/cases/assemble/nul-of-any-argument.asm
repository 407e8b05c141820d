; NUL looks at the whole argument, whatever operators, parentheses, commas or quotes it holds.
PUT	MACRO	V
	IF	NUL V
	XRA	A
	ELSE
	MVI	A,V
	ENDIF
	ENDM
	PUT	80H OR 5	;= 076 205
	PUT	(80H)		;= 076 200
	PUT	(1+2)*3		;= 076 011
	PUT	7 EQ 7		;= 076 377
	PUT	-2		;= 076 376
	PUT	NOT 0FFH	;= 076 000
	PUT	'A'		;= 076 101
	PUT	'>'		;= 076 076
	PUT	<>		;= 257
	PUT			;= 257
; In a list, in parentheses, beside operators, joined, and in an expression that goes on.
MANY	MACRO	P,Q
	DB	NUL P,NUL(Q),LOW (NUL P OR NUL Q),LOW NUL P&Q,3*NUL P
	ENDM
	MANY	1 OR 2,<3,4>		;= 000 000 000 000 000
	MANY	,(5) AND 1		;= 377 000 377 000 375
	MANY				;= 377 377 377 377 375
; The parameter of an outer macro in the body of an inner repetition, and a group that a line writes itself.
OUTER	MACRO	W
	IRP	X,<1,,W>
	DB	LOW NUL X,LOW NUL W,LOW NUL (X&W)
	ENDM
	ENDM
	OUTER	6 XOR 2	;= 000 000 000 377 000 000 000 000 000
	OUTER		;= 000 377 000 377 377 377 377 377 377
; Passed on as a part of a further argument.
PASS	MACRO	X,Y
	IRP	Z,<NUL X+1,NUL (Y)>
	DW	Z
	ENDM
	ENDM
	PASS	1 OR 2,<3,4>	;= 001 000 000 000
	PASS			;= 000 000 377 377
; Outside of macros.
	DB	LOW NUL,LOW NUL 5,LOW (NUL),LOW NUL (),1+NUL ( ),LOW NUL AND 3	;= 377 000 377 377 000 003
