; An instruction in parentheses stands for its first byte.
	DB	(ADD C),(MOV A,M),(HLT)	;= 201 176 166
	MVI	A,(JMP 0)	;= 076 303
	DB	(MVI M,5),(LXI SP,0),(RST 3)	;= 066 061 337
	DB	(PUSH PSW) AND 0FH,1+(NOP)	;= 005 001
R	EQU	E
	DB	(INR R)	;= 034
	HLT	;= 166
