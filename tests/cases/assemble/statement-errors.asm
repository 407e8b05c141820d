	MVI	A	;! `MVI` takes two operands, found 1
	NOP	5	;! `NOP` takes no operand, found 1
	DB	;! `DB` takes 1 or more operands, found 0
	ORG	1,2	;! `ORG` takes one operand, found 2
	MOV	A,B,C	;! takes two operands, found 3
	MOV	A B	;! expected a comma, an operator or the end of the line, found `B`
	MOV	M,M	;! there is no `MOV M,M`
	LDAX	H	;! `LDAX` does not take `H` here
	PUSH	SP	;! `PUSH` does not take `SP` here
	LXI	PSW,5	;! `LXI` does not take `PSW` here
	ADD	SP	;! `ADD` does not take `SP` here
	INX	HL	;! `HL` is not defined
	DB	(1+2	;! a parenthesis is not closed
	DB	1+	;! the line ends where an operand was expected
	DB	/2	;! expected an operand, found `/`
	DB	1,,2	;! expected an operand, found `,`
	DB	MOD 2	;! expected an operand before the operator, found `MOD`
	DB	MOV	;! `MOV` alone is no value
	DB	'open	;! a string is not closed
	DB	"A	;! a string is not closed
	DB	1 = 1	;! `=` does not belong
	DB	#5	;! `#` does not belong
	DB	12A	;! `A` is not a digit of a decimal number
	DB	19Q	;! `9` is not a digit of an octal number
	DB	102B	;! `2` is not a digit of a binary number
	DW	70000	;! the constant `70000` is larger than 65535
	DW	'ABC'	;! the string 'ABC' is not a number
	MVI	A,''	;! the string '' is not a number
	DB	5/0	;! division by zero
	DB	5 MOD 0	;! division by zero
	DB	(PUSH A)	;! these operands make no `PUSH` instruction
	5	;! expected a label or an operation, found `5`
	MVX	A,5	;! `MVX` is no instruction, directive or macro
LABEL	MVX	A,5	;! `MVX` is no instruction, directive or macro
	INCLUDE	TWO NAMES	;! expected a comma, an operator or the end of the line, found `NAMES`
	INCLUDE	'nowhere.asm'	;! cannot read `nowhere.asm`: no such file
	EMBED	'raw.dat',9	;! `raw.dat` has 4 bytes, too few
	BOUNDARY	0	;! the multiple of BOUNDARY is 0
	INSIST	1 EQ 2	;! what this line insists on does not hold
	INSIST	0,'the bells must ring'	;! the bells must ring
