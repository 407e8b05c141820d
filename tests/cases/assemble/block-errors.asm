	ELSE	;! this ELSE belongs to no IF
	ENDIF	;! this ENDIF belongs to no IF
	ENDM	;! this ENDM ends nothing
	EXITM	;! EXITM stands outside of every expansion
	LOCAL	X	;! LOCAL does not stand at the start of a body
	ENDRUN	;! this ENDRUN closes nothing
	ENDLIMIT	;! this ENDLIMIT closes nothing
	IF	1
	ELSE
	ELSE	;! this ELSE belongs to no IF
	ENDIF
	LIMIT	5
	RUNAT	100H
	ENDLIMIT	;! this ENDLIMIT closes nothing
	ENDRUN
	ENDLIMIT
OPENS	MACRO
	IF	1
	ENDM
	OPENS	;! an IF is not closed by ENDIF
CLOSES	MACRO
	ENDIF
	ENDM
	IF	1
	CLOSES	;! this ENDIF belongs to no IF
	ENDIF
	IRP	5,<1>	;! `IRP` takes a parameter and a text
	ENDM
	IRPC	;! `IRPC` takes a parameter and a text
	ENDM
TAKES	MACRO	X
	DB	X
	ENDM
	TAKES	<1	;! a group is not closed
	TAKES	%	;! `%` is not followed by a value
	TAKES	%LATER	;! `LATER` is not defined
	RUNAT	5	;! a region is not closed by ENDRUN
	IF	1	;! an IF is not closed by ENDIF
	REPT	2	;! a body is not ended by ENDM
	NOP
