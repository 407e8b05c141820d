; The key-in loader of the tower: reads a page from tape and starts it.
STATUS	EQU	254Q		; reader: bit 0 is one when a character waits
DATA	EQU	255Q
START:	MVI	A,3		; the chip forgets what it was set to,
	OUT	STATUS
	MVI	A,21Q		; and hears 8N2
	OUT	STATUS
	LXI	H,STEP		; what is read falls on STEP:
STEP:	NOP			; the tape makes this DCR L
POLL:	IN	STATUS
	ANI	1		; has the reader a character?
	JZ	POLL		; not yet: look again
	IN	DATA
	MOV	M,A		; keep it
	JMP	STEP		; the tape makes this a jump to the page
	END	START
