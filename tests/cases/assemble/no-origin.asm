; Without ORG, calls to fixed addresses that would lie in the program are one warning.
HELP	EQU	5
START:	LXI	D,START	;= 021 000 000
	CALL	HELP	;= 315 005 000 ;! there is no ORG, and 2 instructions with a fixed address
	CALL	5	;= 315 005 000
	JMP	START+1	;= 303 001 000 ;! JMP goes to 000001 (0001H), the middle of an instruction
