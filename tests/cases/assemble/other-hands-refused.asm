; What could be misread, or belongs to one tool, is refused, and a line is no second problem for the names it defines.
* = 100H	;! expected a label or an operation, found `*`
BYTES	DEFM	1	;! `DEFM` is no instruction
CHANGES	DEFL	0	;! `DEFL` is no instruction
	DC	'A'	;! `DC` is no instruction
	CPU	Z80	;! `CPU` is no instruction
	MACLIB	BELLS	;! `MACLIB` is no instruction
	IFDEF	QUIET	;! `IFDEF` is no instruction
	RIM		;! `RIM` is no instruction
CR	== 13	;! `==` defines no name
	DB	377A,CR	;! `A` is not a digit of a decimal number
	DS	8,0	;! `DS` takes one operand, found 2
FLAGS	=	5	;! 2 names defined by `=`
FLAGS	=	6	;! `FLAGS` is defined twice
	DB	FLAGS = 5	;! `=` does not belong to the language here
AGAIN	MVI	A	;! `MVI` takes two operands, found 1
	JMP	AGAIN
	LXI	H,BYTES
	DB	CHANGES
