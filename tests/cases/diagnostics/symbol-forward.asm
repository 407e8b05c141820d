; run: coldwright assemble %
	DS	ROOM
ROOM	EQU	16
