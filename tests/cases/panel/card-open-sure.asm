; run: coldwright card %
; What the loop shows for certain is not open because another byte of it is.
	ORG	0
P:	LXI	SP,P+256
LP:	PUSH	PSW
	POP	H
	JMP	LP
	END	P
