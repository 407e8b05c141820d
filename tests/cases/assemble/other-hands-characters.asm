; Two characters in a register pair lie in memory the other way round.
	LXI	H,'CP'	;= 041 120 103 ;! 2 register pairs loaded with two characters
	LXI	D,"ab"	;= 021 142 141 ;! 1 string in double quotes
	LXI	B,'A'	;= 001 101 000
	HLT	;= 166
