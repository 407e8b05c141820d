; Selects striker 3, sends it a command, and reads its status.
	MVI	A,3
	OUT	42Q		; select striker 3
	MVI	A,20Q
	OUT	43Q		; strike once
	IN	43Q		; how is it?
	ANI	200Q		; busy?
	HLT
	END
