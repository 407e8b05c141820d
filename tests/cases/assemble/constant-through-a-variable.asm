; A constant made from a SET name that waits for a later line takes the value when there is one.
LEAD	SET	LAST
KEEP	EQU	LEAD
LAST	EQU	4
	MVI	B,KEEP	;! `KEEP` has no value that holds everywhere
