; The fault of a macro's body is told once, with how often it is so; that of an argument with each argument.
PUT	MACRO	X
	MVI	A
	DB	X
	ENDM
	PUT	1	;! `MVI` takes two operands
	PUT	2
	PUT	400H	;! the value 1024 does not fit
	PUT	500H	;! the value 1280 does not fit
	REPT	3	;! the value 256 does not fit
	DB	256
	ENDM
	DB	300,300	;! the value 300 does not fit ;! the value 300 does not fit
	HLT
