; One segment is the program itself.
	PUBLIC	START,AGAIN	;! 2 lines with PUBLIC
	PUBLIC	LATER
	CSEG	;! the program has one segment, and it is absolute
START:	NOP	;= 000
AGAIN:
LATER:	JMP	START	;= 303 000 000
