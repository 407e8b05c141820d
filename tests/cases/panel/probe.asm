; Notes how the wind stands, then opens the shutters of the bell chamber.
	IN	42Q		; how is the wind?
	STA	30Q		; note it
	MVI	A,140Q
	OUT	325Q		; open wide
	HLT
	END
