; run: coldwright card %
; Counts for as long as anybody looks on.
	ORG	0
	LXI	H,0
COUNT:	INX	H
	MOV	A,H
	ORA	L
	JNZ	COUNT
	INR	B
	JMP	COUNT
