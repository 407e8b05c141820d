; A SET name can turn from a register to a number and back.
R	SET	B
	INR	R	;= 004
R	SET	5
	MVI	A,R	;= 076 005
R	SET	C
	INR	R	;= 014
	HLT	;= 166
