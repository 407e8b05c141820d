	INR	R
R	SET	B	;! `R` is C after pass one and B in pass two
R	SET	C
