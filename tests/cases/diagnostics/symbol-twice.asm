; run: coldwright assemble %
LOOP:	DCR	B
LOOP:	JMP	LOOP
