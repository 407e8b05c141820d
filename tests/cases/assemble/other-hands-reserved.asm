; Words of the language as names, where only a name can stand, and instructions as values.
	JMP	OUT		;= 303 014 000
SET	EQU	17Q	;! 4 words of the language used as a name
MOD:	DB	SET,MOD,SET MOD 4	;= 017 003 003
LOW	EQU	3
	MVI	A,LOW		;= 076 003
	MVI	A,LOW 1234H	;= 076 064
	DB	JMP		;= 303 ;! 4 instructions as a value
	DB	(JMP)		;= 303
OUT:	ANI	RET		;= 346 311
	DB	HLT+1		;= 167
	DB	MOV		;! `MOV` alone is no value
	DB	RST		;! `RST` alone is no value
	DB	ORG		;! `ORG` is not defined
	CALL	IN		;! `IN` is an instruction, and no line makes it a name
SP:	NOP			;! `SP` is a word of the language
	HLT
