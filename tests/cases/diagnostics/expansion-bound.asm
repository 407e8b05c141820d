; run: coldwright assemble %
DOWN	MACRO	N
	DB	N
	DOWN	%N-1
	ENDM
	DOWN	3
