; The last letter gives the radix; $ is a spacer; one and two characters are numbers.
	DB	0FFH,377O,377Q,255D,255,11111111B	;= 377 377 377 377 377 377
	DW	0BH,10B,10D,0BDH,1BH	;= 013 000 002 000 012 000 275 000 033 000
	DW	65535,0FFFFH,177777Q	;= 377 377 377 377 377 377
	DB	1010$0101B,12$7Q	;= 245 127
	DW	0$FF$00H	;= 000 377
	DW	'A','AB'	;= 101 000 102 101
	DB	'A','''',''''''	;= 101 047 047 047
	DB	'TODAY''S DATE'	;= 124 117 104 101 131 047 123 040 104 101 124 105
	MVI	A,'*'	;= 076 052
	LXI	H,'OK'	;= 041 113 117 ;! 1 register pair loaded with two characters
	CPI	';'	;= 376 073
	DB	',',';',':'	;= 054 073 072
	DB	''
	HLT	;= 166
