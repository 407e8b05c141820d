TWICE:	NOP
TWICE:	NOP	;! `TWICE` is defined twice
FIXED	EQU	1
FIXED	EQU	2	;! `FIXED` is defined twice
FIXED	SET	3	;! `FIXED` is defined twice
MOVING	SET	1
MOVING	EQU	2	;! `MOVING` is defined twice
M:	NOP	;! `M` is a word of the language
SP	EQU	5	;! `SP` is a word of the language
PSW	SET	5	;! `PSW` is a word of the language
ORG	MACRO	;! `ORG` is a word of the language
	ENDM
	EQU	5	;! `EQU` has no name to define
	SET	5	;! `SET` has no name to define
	MACRO	X	;! `MACRO` has no name to define
	ENDM
ROUND	EQU	TRIP	;! the value of `TRIP` depends on itself
TRIP	EQU	ROUND	;! the value of `ROUND` depends on itself
HANGS	EQU	NOWHERE	;! `NOWHERE` is not defined
	LXI	H,HANGS
THING	MACRO
	ENDM
	LXI	H,THING	;! `THING` is a macro and has no value
	JMP	FFH	;! `FFH` is not defined
	JMP	A	;! the register `A` is not a number
	DB	B+1	;! the register `B` is not a number
	DS	C	;! the register `C` is not a number
