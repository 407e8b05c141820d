; run: coldwright assemble %
; An operand that is a word of the language, by its spacer: one mistake, told once.
	JZ	SET$
	END
