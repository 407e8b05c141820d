; A label may not take a name that a line above has read as an instruction.
	DS	NOP	;! 1 instruction as a value
NOP:	HLT	;! `NOP` is a word of the language
