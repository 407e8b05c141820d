; What a faulty line defines or opens is no second problem where it is used.
START:	LXI	SP	;! takes two operands
	JMP	START
SIZE	EQU	1 +	;! the line ends where an operand was expected
	MVI	A,SIZE
	DS	SIZE
	IF	1 == 1	;! `=` does not belong
	DB	1
	ENDIF
	REPT	2 2	;! expected a comma
	DB	2
	ENDM
AGAIN	MVX	A,B	;! `MVX` is no instruction
	JMP	AGAIN
