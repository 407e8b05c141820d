; What bites at the bench.
	JMP	$+4	;= 303 004 000 ;! JMP goes to 000004 (0004H), the middle of an instruction
	MVI	A,5	;= 076 005
	JNZ	NEAR+1	;= 302 012 000 ;! JNZ goes to 000012 (000AH), the middle of an instruction
	NOP	;= 000
NEAR:	LXI	H,0	;= 041 000 000 ;! execution runs into the undocumented opcode 010 (08H)
	DB	8	;= 010
	ORG	20H
	CALL	SUB1	;= 315 060 000 ;! execution runs on into nothing at 000043 (0023H)
	ORG	30H
SUB1:	RNZ	;= 300
	RET	;= 311
	ORG	40H
HLR	;! `HLR` is read as a label
	PCHL	;= 351
