; What only the 8085 has is none of the 8080's.
	RIM	;! `RIM` is no instruction
	SIM	;! `SIM` is no instruction
	HLT
