; Values that decide where lines lie cannot come from further on.
	ORG	LATER	;! `LATER` must be known here, but is defined further on
	DS	LATER	;! `LATER` must be known here
	IF	LATER	;! `LATER` must be known here
	DB	1
	ENDIF
	REPT	LATER	;! `LATER` must be known here
	DB	1
	ENDM
	RUNAT	LATER	;! `LATER` must be known here
	LIMIT	LATER	;! `LATER` must be known here
	ENDLIMIT
	BOUNDARY	LATER	;! `LATER` must be known here
	STUFF	LATER,0	;! `LATER` must be known here
	STUFFTO	LATER,0	;! `LATER` must be known here
	EMBED	'raw.dat',LATER	;! `LATER` must be known here
THROUGH	EQU	LATER+1
	DS	THROUGH	;! `THROUGH` must be known here
	DS	NOWHERE	;! `NOWHERE` is not defined
LATER	EQU	5
