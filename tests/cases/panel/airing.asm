; Opens the shutters of the bell chamber unless a gale blows, and notes what was done.
	IN	42Q		; how is the wind?
	MOV	B,A
	ANI	200Q		; a gale?
	JNZ	SHUT
	MVI	A,140Q		; no: open wide
	OUT	325Q
	JMP	NOTE
SHUT:	XRA	A		; yes: shut
	OUT	325Q
NOTE:	STA	50Q
	IN	254Q		; what was read goes to the line,
	ANI	2		; as soon as it can be sent
	JZ	NOTE+3
	MOV	A,B
	OUT	255Q
	ADD	A
	HLT
	END
