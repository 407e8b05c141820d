; Words, names and signs of other hands that can be read in one way only.
	.8080		;! a listing control is passed over
	.ORG	0	;! 6 directives under another name
LIMIT.LOW	.EQU	0x1F	;! 2 names with a dot ;! 2 constants with `0x`
TEXT:	.DB	"It's ""so""", 'a "b"'	;= 111 164 047 163 040 042 163 157 042 141 040 042 142 042 ;! 2 strings in double quotes
	DEFB	LIMIT.LOW,0XaF	;= 037 257
	DEFW	1	;= 001 000
	DEFS	1
TWO.COLONS::	CPI "x"	;= 376 170 ;! 1 label with two colons
	JNZ	*-2	;= 302 023 000 ;! 1 `*` where a value stands
	IF	1 <= 2 AND 2 >= 2 AND 1 <> 2	;! 3 signs in a condition
	DB	1	;= 001
	ENDIF
	HLT	;= 166
