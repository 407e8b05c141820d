; The bytes of a region that runs low can still be put past the top.
	ORG	0FFFEH
	RUNAT	0
	DB	1,2
	DB	3	;! the program runs past the top of memory
	ENDRUN
