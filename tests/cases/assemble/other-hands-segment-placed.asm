; One segment with an ORG: nothing is in doubt.
	CSEG	;! the program has one segment
	ORG	230Q
START:	JMP	START	;= 303 230 000
