; Upper and lower case are alike.
start:	mvi	a,0ffh	;= 076 377
	Mov	b,C	;= 101
	lxi	Sp,Start	;= 061 000 000
	push	psw	;= 365
	db	'a',12q,101b,7d	;= 141 012 005 007
	dw	START eq start	;= 377 377
	hlt	;= 166
