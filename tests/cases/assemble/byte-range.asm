; A byte takes -256 to 255: the high byte of its value is 00H or 0FFH.
	DB	255,-1,-128	;= 377 377 200
	DB	-129	;= 177 ;! the value -129 (65407) is cut to 8 bits: 127
	DB	-256	;= 000 ;! the value -256 (65280) is cut to 8 bits: 0
	DB	0FF00H	;= 000 ;! is cut to 8 bits: 0
	MVI	A,0FF80H	;= 076 200
	ADI	-200	;= 306 070 ;! is cut to 8 bits: 56
	IN	-1	;= 333 377
	HLT	;= 166
