; Stores beyond memory, and on a socket, and reads both back.
	ORG	0
	LXI	SP,20001Q
	MVI	A,123Q
	STA	20000Q		; behind the last byte of memory
	LDA	20000Q		; the bus, not what was stored
	MVI	A,123Q
	STA	17777Q		; the last byte of memory keeps it
	LDA	17777Q
	PUSH	PSW		; one byte in memory, one beyond
	POP	B
	STA	177000Q		; no part of the program lies in the socket
	LDA	177000Q
	HLT
