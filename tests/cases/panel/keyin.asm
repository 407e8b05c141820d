; The key-in loader of the belfry: loads a page backwards and starts it.
STATUS	EQU	60Q		; reader: bit 0 is one when a character waits
DATA	EQU	61Q
START:	LXI	H,1777Q		; from the top of the buffer downwards
WAIT:	LXI	SP,RETAD	; the stack only holds the way back
	IN	STATUS		; has the reader a character?
	RRC
	RNC			; not yet: look again
	IN	DATA
	CMP	L		; is it leader still?
	RZ			; then skip it
	DCR	L
	MOV	M,A		; keep it
	RNZ			; and go on until the page is full
	PCHL			; all read: start what was loaded
RETAD:	DW	WAIT
	END	START
