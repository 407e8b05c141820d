; run: coldwright card %
; Goes where nobody put a program.
	ORG	0
	JMP	100Q
