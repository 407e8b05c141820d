	DB	256	;! the value 256 does not fit into a byte
	DB	-257	;! the value -257 (65279) does not fit into a byte
	DB	0FEFFH	;! the value -257 (65279) does not fit into a byte
	MVI	B,1000	;! the value 1000 does not fit into a byte
	OUT	256	;! the value 256 does not fit
	DB	'A','AB'+0	;! the value 16706 does not fit into a byte
	RST	8	;! `RST` does not take `8` here
	RST	-1	;! `RST` does not take `-1` here
	MOV	8,A	;! `MOV` does not take `8` here
	PUSH	1	;! `PUSH` does not take `1` here
	STAX	4	;! `STAX` does not take `4` here
