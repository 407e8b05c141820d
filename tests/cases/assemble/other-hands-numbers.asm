00010 ; Lines with numbers before them.			;! 7 lines with a number before it
00020 START	MVI	A,3	;= 076 003
00030 LOOP
00040	DCR	A	;= 075
00050 * A comment.
00060	JNZ	LOOP	;= 302 002 000
00070	IF	0
00080	DB	1
00090	ENDIF
	HLT		;= 166
