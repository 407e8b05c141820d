; run: coldwright assemble % --unused
START:	MVI	A,1
SPARE:	HLT
	DW	START
