; No alarm where nothing is wrong.
	ANI	NOT 80H		;= 346 177
	ORI	-200		;= 366 070 ;! the value -200 (65336) is cut to 8 bits
HLR
	DCR	B		;= 005
	JNZ	HLR		;= 302 004 000
	RST	0		;= 307
