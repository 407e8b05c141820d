; run: coldwright assemble %
	IRP	X,<1,2,3
	DB	X
	ENDM
