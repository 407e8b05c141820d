; What % passes must be known at the call.
TAKES	MACRO	X
	DB	X
	ENDM
	TAKES	%BELOW	;! `BELOW` must be known here, but is defined further on
	TAKES	%NEVER	;! `NEVER` is not defined
	IRP	X,<1,%BELOW>	;! `BELOW` must be known here, but is defined further on
	DB	X
	ENDM
BELOW	EQU	5
