	ORG	10H
	DB	1,2,3,4
	ORG	12H
	DB	5	;! two statements put bytes at 000022 (0012H)
	ORG	0FH
	STUFF	2,0	;! two statements put bytes at 000020 (0010H)
	RUNAT	8000H
	DB	0	;! two statements put bytes at 000021 (0011H)
	ENDRUN
