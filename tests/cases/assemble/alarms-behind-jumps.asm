; No alarm for what execution does not reach; but for what it does.
	ORG	40Q
START:	JMP	START	;= 303 040 000
	NOP		;= 000
	ORG	60Q
MASK	EQU	NOT 80H
KEEP	EQU	MASK
	ANI	MASK	;= 346 177
	ANI	KEEP	;= 346 177
	RET		;= 311
	NOP		;= 000
NEAR:	NOP		;= 000 ;! execution runs on into nothing
	ORG	100Q
	JMP	$+4	;= 303 104 000
	NOP		;= 000
	NOP		;= 000 ;! execution runs on into nothing
