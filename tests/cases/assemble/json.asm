; run: coldwright assemble % --json
	TITLE	'BELLS'
PUT	MACRO	V
	MVI	A,V
	ENDM
	PUT	300
	JMP	NOWHERE
