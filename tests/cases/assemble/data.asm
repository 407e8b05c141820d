; DB, DW, DS and END.
	ORG	10H
	DB	1,2,3,4,5,6,7,8,9,10	;= 001 002 003 004 005 006 007 010 011 012
	DB	'AB','C',1,'D'	;= 101 102 103 001 104
	DB	'AB' , 5 	;= 101 102 005
	DW	1,-1,'A','BC'	;= 001 000 377 377 101 000 103 102
	DS	2
	DS	0
	DW	$	;= 054 000
	DB	1	;= 001
	END	10H
what follows END is not read at all !!
