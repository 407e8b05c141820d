; run: coldwright assemble %
	RUNAT	100H
	JMP	$
