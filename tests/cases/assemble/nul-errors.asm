; Without parentheses NUL looks at one operand.
	DB	NUL -5	;! expected one operand behind NUL, or several in parentheses, found `-`
	DB	NUL <5	;! `<` does not belong to the language here
	DB	NUL NOT 1	;! expected one operand behind NUL, or several in parentheses, found `NOT`
	DB	NUL (5	;! a parenthesis is not closed
