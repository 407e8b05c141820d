; All relocation directives of a source together are one error.
	CSEG	;! programs here are absolute
	PUBLIC	START
	EXTRN	OTHER
	DSEG
START:	HLT
