; run: coldwright assemble % -o -
; A long program of every kind of statement, whose bytes were computed apart from its text.
K0	EQU	362O
K2	EQU	120D
K4	EQU	174202O
K5	EQU	109
K6	EQU	154337Q
K7	EQU	77Q
K8	EQU	0E6H
K9	EQU	111001111000100B
K10	EQU	23314O
K12	EQU	365Q
K14	EQU	2442O
K15	EQU	02D2EH
K17	EQU	151040O
K18	EQU	58610D
K19	EQU	345O
K20	EQU	'}'
K21	EQU	36O
K22	EQU	0FH
K1	EQU	193D
K3	EQU	0A02DH
K11	EQU	47
K13	EQU	16436D
K16	EQU	60206D
K23	EQU	28705D
K24	EQU	226Q
DELAY	MACRO	R,N
	LOCAL	AGAIN
	MVI	R,N	;; load
AGAIN:	DCR	R
	JNZ	AGAIN
	ENDM
VARY	MACRO	P1,P2,P3
	DW	P1
	IF	NUL P2
	EXITM
	ENDIF
	DW	P2
	IF	NOT NUL P3
	DB	P3
	ENDIF
	ENDM
	ORG	256D
	IRP	V,<119,21,222>
	MVI	A,V
	ENDM
;**********************************************************************
	IRP	V,<192>
	MVI	A,V
	ENDM
MSGH47:	inr	D
	push	h	; CHAR
	IF	K23 EQ 30083
	REPT	5
	ENDM
	ELSE
	dw	0B916H , K24 LT (($ OR ?QK150) GE $ MOD 'u') , LOW (HIGH $) , NOT (?QG146 AND K4 OR $-?QR157) , (K2+GETT79)*$ EQ (NOT $)
	SBI	245
	ENDIF
nextm192:	ds	2
	POP	H	; ring; the bell
	db	')C '
	IRPC	V,27
	DB	'&V',V+1
	ENDM
	INR	D
tabg26:	CNZ	$
	rpo
	XCHG
	mvi	B,207O	; CHAR
	JMP	(NOT $)+40165 LT (-(K7 AND 1010100001011010B))	; <next> & %% !
	ds	2	; don't stop
CMDM112:	DW	$ , NEXTH187 LT K22 , CMDD103 , K3 OR $	; ring; the bell
	IF	K8 EQ 55193
	MVI	A,'
GHOST:	NOP
	ELSE
	DELAY	L,<HIGH (67442Q)>
	LXI	h,(k6 ge erro134 eq 1000000101111001b) shl ((msgk50 ge k0) shr (k1 eq 0e178h))
	mov	L,H	; get it
	ENDIF
	DB	60Q
	STA	k3
	DW	PUTF85 , 04H , LOW $ , PUTH87+(K21/406O GE ?QQ156-03E8H) , K1
loopr17	DS	2	; <next> & %% !
	MOV	L,L	; <next> & %% !
	mvi	D,55	; ring; the bell
	SUI	HIGH (HIGH K7 SHR (10B SHL (NEXTM192+0AH)))
	CPI	low ($-$)
	ds	0
	mvi	m,81	; ring; the bell
	IF	K1 EQ 193
	LHLD	TABI28
	DCX	B	; get it
; a comment line
	ELSE
	IF	0
	DB	1
	ELSE
	ENDIF
GHOST:	NOP
	ENDIF
	LXI	B,$	; ring; the bell
; a comment line
	VARY	45781,%0b2d5h+1,<1,2>
	SBB	M
	REPT	3
	DB	89
	INX	H
	ENDM
	RST	6	; CHAR
	RZ
	VARY	29485,%111001100101101B+1
	STAX	B
	SPHL
	REPT	3
	DB	132
	INX	H
	ENDM
	INR	M
	MOV	H,D
?qp155:	pop	h
	JM	@XI168 SHR 1011010111110011B	; <next> & %% !
	CP	$	; ring; the bell
	mvi	L,LOW (@XJ169)	; CHAR
	SBB	C	; ring; the bell
	DELAY	B,<176D>

	DW	NOT (NOT $) , K7 , HIGH 0Q , K2-PUTF85 EQ (-60162Q) , (LOW NEXTP195 LT ($ LT K21))+(115156Q-0dh) SHR 06929H
	JMP	147152o shl 083a6h
	DELAY	B,<HIGH ((K5 AND PUTC82 GE K13) EQ (NOT (NOT ?QE144)))>
	LDAX	D
	dw	PUTP95*(8/173O XOR K9) , $ , CMDI108 , (03h SHL CMDF105+TABI28/'|') SHL (57865D GE (K7 AND K20)) , (0FH EQ LOOPG6) SHR ?QS158
; a comment line
;**********************************************************************
	JPO	11D MOD 0123h
PUTP95:
	IRP	V,<83,103>
	MVI	A,V
	ENDM
	LXI	H,(K12 AND (08H AND 10D))-(NOT 09CC6H)
@XA160:
	DELAY	E,<HIGH (011H/0f1h)>
NEXTS198:
	DELAY	B,<167D>
;**********************************************************************
	stax	B
	JPO	09H SHL 1D MOD 178D*(10/422Q*26438)	; CHAR
	SUI	HIGH (012h-(HIGH $ GE (LOW 4O)))
	IF	K8 EQ 128
	IF	0
	DB	1
	ELSE
	ENDIF
	ELSE
NEXTK190:	mvi	l,high (high (31645o and 06fcfh or (low k16)))

	ENDIF
	DB	LOW (ERRP135)
MSGE44:	mvi	l,37	; CHAR
	DCX	D	; ring; the bell
	JNC	?qh147
; a comment line
;**********************************************************************
	VARY	13658
	IF	K7 EQ 48016
GHOST:	NOP
X9	EQU	5
X9	EQU	5
	ELSE
MSGD43:	CP	looph7 eq 48733d
NEXTB181:	LXI	H,K1
	ENDIF
	JNC	k9	; ring; the bell
?QG146:	stax	b
	REPT	4
	DB	119
	INX	H
	ENDM
	db	'<By''',76
	DB	'0 %A>',157,'y!<<;y',HIGH (4635)	; get it
	call	not (-078h)
	LHLD	11691
	JNZ	$	; get it
	EI
	SHLD	HIGH $ OR (-PUTI88) OR 162260Q SHR K21+($-?QI148)
	STA	$	; ring; the bell
	CMP	B
	MOV	l,c
	lxi	b,37760o

	STA	-132270Q
	ANA	D
	rst	4	; don't stop
	rnc		; CHAR
	DCX	B
	REPT	4
	DB	144
	INX	H
	ENDM
	DB	'y >z''z',LOW (K2)	; ring; the bell
	inr	C
	VARY	63308,%63308D+1,<1,2>
	LHLD	10697D
	DB	'A%)!''!C;zC)',',<''',11,-31H,'>y&,B<yBy,'
	IF	K21 EQ 30
	db	211,'>y&%y%C&y'
	ELSE
	!!! ( junk
	IF	0
	DB	1
	ELSE
	ENDIF
GHOST:	NOP
	ENDIF
@XJ169:	ori	-50
	LXI	d,loopr17
	VARY	35857
	RST	5
PUTI88:	call	HIGH 10O
	JPE	$ SHR (-K15)*GETR77	; don't stop
	ds	2
	shld	gets78	; ring; the bell
	ACI	HIGH (16)
NEXTE184:	DS	2
	cc	0b9f0h*($ XOR 1111B) SHL K18
	RM
	MOV	h,h

	DW	(CMDC102+LOOPR17) SHR 57892*CMDC102 , NOT K0 SHL PUTM92 EQ (?QK150 OR 133300O) , (?QI148 GE (?QQ156 GE K8))-$/77 , -K7
puth87:	CM	0D1ABH
	ADD	E
	dcr	l
nextp195:	DAD	h
	ORA	M
	MOV	c,h	; get it
	MOV	c,e
	HLT
	RP		; CHAR
	RNZ
	VARY	23112,%101101001001000B+1,<1,2>
	MOV	M,D	; don't stop
	SHLD	(-(low ?qo154)) mod 206o

	JC	low (-(-$))
	RNZ		; <next> & %% !

	mov	L,E	; don't stop
	MVI	H,118
	ORI	11000001b
;**********************************************************************
@xi168	stax	b
	RP		; <next> & %% !
	dw	117324q or k2 , $	; ring; the bell
	LXI	D,K21	; <next> & %% !
	EI		; don't stop
	DB	'y&<0&','0B<;','Bxx ;%0!<'
	HLT		; CHAR
ERRS138:	LHLD	$
	IF	K17 EQ 53792
LOOPJ9:
	REPT	2
	DB	213
	INX	H
	ENDM
	ORA	E	; ring; the bell
	DB	HIGH ($),LOW ($),'B%yA>x',LOW (K2)	; ring; the bell
	ELSE
	ENDIF
	DCR	D
	DCR	L	; don't stop
	ds	2
	DCX	D
;**********************************************************************
TABI28:	INR	a	; CHAR
	IF	K3 EQ 64774
	REPT	5
	ENDM
	ELSE
	RST	3
	IF	K3 EQ 41005
	DELAY	B,<110>
	ELSE
	MVI	A,'
GHOST:	NOP
	ENDIF
	ENDIF
	IF	K9 EQ 29636
	mov	D,M
;**********************************************************************
	CMC		; <next> & %% !
	IF	K3 EQ 39798
	ELSE
	IF	K5 EQ 109
;**********************************************************************
	ELSE
	ENDIF
	ENDIF
	ELSE
X9	EQU	5
	ENDIF
	dw	HIGH LOOPO14 MOD 111010B , ?QE144
	MOV	A,L	; ring; the bell

; a comment line
	MOV	d,m
;**********************************************************************
	SUB	E

	MVI	A,HIGH (NOT GETI68)
?QK150:	mvi	D,HIGH ($ SHL 030c3h*(04A10H AND 12))
	REPT	3
	DB	122
	INX	H
	ENDM
tabs38:	INR	C	; get it
	SBB	e
	cnc	LOW (GETI68 AND K18 XOR $)
	DAD	SP
	IRP	V,<6,174,37,5>
	MVI	A,V
	ENDM
	RNZ		; don't stop
	CPO	K1*$ LT 48009D AND K19 GE ?QL151 LT 59683D/03H
; a comment line
	cpi	128
	IF	K4 EQ 28777
X9	EQU	5
	ELSE
CMDN113:

	DCR	L
	JPO	LOW (K14 LT K15 AND NEXTQ196)
	ENDIF
	CPI	-39	; ring; the bell

	DCR	c
	stax	D
	HLT
	DELAY	B,<152>
	DB	')!A<,A',HIGH ($),'xC ',HIGH (NOT (HIGH ?QH147) AND 0DH),LOW (NEXTB181/157D-(1111101010010101B OR K17 XOR K22)),');B0'' ;&C'
; a comment line
	VARY	51845
	POP	PSW	; get it
	DW	@XF165 , $ , HIGH K0/011H+(NEXTH187 LT 0 SHL $)	; CHAR
	ANI	LOW ((K16/10111000B OR K1) SHR (K24*$))	; <next> & %% !
	RPO
	nop
	lda	not (-nexte184 and ($ or k13))	; get it
	VARY	61502
	INR	C

MSGN53:	DS	0	; get it
	CPI	HIGH ((135001Q AND ERRK130) GE K13 XOR 10010B)
	LXI	SP,?QR157	; ring; the bell
	pchl
	LXI	H,$*11D/0125h
	STAX	D
	LXI	h,loopb1/0cdh
?qt159:	DW	@XI168 , GETC62 XOR K0 XOR 01708h SHL ($/85) , CMDM112	; <next> & %% !
	RM
	PUSH	D	; <next> & %% !
?QQ156:
	IRP	V,<255>
	MVI	A,V
	ENDM
	DS	1
ERRO134:
	REPT	0
	DB	243
	INX	H
	ENDM
@XD163:	DS	0	; CHAR

	inr	E
TABB21:
	DELAY	L,<HIGH (0cacah-0B610H)>
	mvi	H,-100	; <next> & %% !
	SHLD	HIGH $-(NOT $)
	DW	K23 , $ SHR $/435Q SHR (HIGH (LOW $)) , K6 , CMDI108+(MSGK50 GE PUTM92 OR (-40164)) , LOW TABM32-($-K22)-K8
	sub	B	; don't stop
	MVI	M,LOW (19*1001110100010101B)
	DS	1	; <next> & %% !
	ana	h
LOOPM12	dw	k11*(k15 eq $)/123d , 02h shl ((107433q ge k0) shl nexth187) , $
	IRP	V,<167,22>
	MVI	A,V
	ENDM
	LDAX	d

	SBB	A	; don't stop
	JMP	not k16	; ring; the bell

	JP	-(-(HIGH LOOPS18))	; ring; the bell
	stax	B
	push	d
	INX	h
	INX	D
	INR	m
	sbi	LOW ($)
	IF	K18 EQ 5450
	ELSE
	SUI	HIGH ($ EQ (NOT K12 LT NEXTB181))
	ENDIF
	STC		; get it
;**********************************************************************
	call	9952D	; CHAR
	POP	B
	push	D
	MVI	A,140	; ring; the bell
	DW	(ERRC122 OR $)+(GETC62 AND PUTM92)+((44553D GE $)-49681) , 0A5E3H MOD 223Q AND K17 OR ERRC122 , K23 SHL $ MOD 11001000B-(10110010010111B EQ (K12 EQ 0400AH)) , $ LT TABT39 LT 2694D/277
	DB	'0,By',';z%BxAy<'
	MVI	b,68
	VARY	62477,%172015Q+1,<1,2>
	RPO		; don't stop
	STAX	d
GETC62:	mov	e,m
	DS	4
	CALL	K22
	EI
MSGM52:	LDA	-$
	MOV	B,E
	ds	2
	INR	E	; ring; the bell
	LDAX	B
gets78:	RP
	dcx	d
	rnc		; don't stop
	MOV	H,M	; CHAR
	LXI	D,LOW (PUTT99/261Q SHR ($ LT 13))
	dw	low ((-5755o) mod 0c0h) , gett79 , getm72 , $
	MOV	H,A
	DW	$ shl 20q+$ lt k7 , 40341 shr (k7 ge (low $)) , low ($/23)*(14 mod 75o or 16104/074h) , -64024o or k8 , errd123 ge k19 and k2-18665d/125d	; don't stop
	LXI	D,LOW 24485	; ring; the bell
	mov	C,D	; ring; the bell
	sbb	D
	DS	0	; CHAR
	INR	h	; <next> & %% !
	mov	A,M
	IF	K17 EQ 53792
	IRP	V,<93,134,36>
	MVI	A,V
	ENDM
	DS	4
	IRPC	V,773
	DB	'&V',V+1
	ENDM
	ELSE
	REPT	5
	ENDM
	MVI	A,'
	ENDIF
	DB	LOW ($),';0!)',25Q,11111B,'B''0'''')&00y)'
	INX	H	; CHAR
	SBI	LOW (@XH167)


	IRP	V,<252,226>
	MVI	A,V
	ENDM
	sbi	-118	; CHAR
	SUI	LOW (HIGH ($/060H))	; <next> & %% !
	cc	157454O
	DB	15O,-76	; CHAR
	INX	d	; CHAR
?qd143:	STA	errs138
	INR	C
MSGI48:
	DELAY	E,<53>
	DELAY	D,<LOW ($ OR 4D)>
	JP	$
MSGK50	XCHG
	RAR
	hlt		; get it
GETG66:
	VARY	13023,%13023D+1,<1,2>
	IF	K20 EQ 8408
	REPT	5
	ENDM
	IF	0
	DB	1
	ELSE
	ENDIF
	ELSE
	DS	4	; don't stop
	ENDIF
	POP	PSW
	IF	K6 EQ 54466
	IF	0
	DB	1
	ELSE
	ENDIF
X9	EQU	5
	REPT	5
	ENDM
	ELSE
	VARY	29031,%111000101100111B+1,<1,2>
	sphl
	DCX	H
	ENDIF
	DELAY	L,<0e9h>
	jpo	1011B	; <next> & %% !
ERRC122:	CC	-(-15O) SHL 65249D
	MOV	A,H	; don't stop
	VARY	14973
	RPO
	DELAY	B,<HIGH (LOOPS18+K9 SHL $)>
	VARY	29118
PUTO94:	PUSH	H
	mov	a,m
LOOPG6:	mvi	M,'t'
;**********************************************************************
	RST	6
	LXI	sp,k8
	LXI	D,K16 GE ($ GE LOOPC2 AND K5)
	IF	K12 EQ 245
	MVI	H,251
; a comment line
	ELSE
	REPT	5
	ENDM
	IF	0
	DB	1
	ELSE
	ENDIF
GHOST:	NOP
	ENDIF
	MVI	B,18D

	CMC
	CMP	C
	DB	'&(;A&%''!<;!',HIGH (K4+111100011101001B),'>;x  z '
	DELAY	L,<-32>

@XH167:	MVI	M,LOW (K4)
	IF	K0 EQ 1707
	ELSE
	DB	'<< ',-5FH,'CBB('')',LOW (ERRJ129)
	DELAY	E,<233>
ERRD123:	MVI	L,75	; CHAR
	MVI	L,HIGH (GETH67)
	ENDIF
PUTJ89:	DAD	H

	DS	2	; ring; the bell
	DW	$ , K13 , $ XOR $ MOD 107O+61161O
	STAX	d
	SBB	M	; <next> & %% !
;**********************************************************************
	SUB	m
	LXI	d,$
	LXI	D,LOW LOOPB1	; CHAR
	XRA	b	; CHAR

	MVI	m,237
	SBB	A
	MVI	d,82
	ADI	LOW (-$)
	DELAY	C,<LOW (PUTS98)>
	POP	D	; CHAR
;**********************************************************************
	ana	d	; CHAR
	dcr	L	; <next> & %% !
	DB	',(!x'
; a comment line
ERRK130:	DB	HIGH (LOW (HIGH (1O OR GETG66)))	; <next> & %% !
	MVI	E,HIGH (MSGH47)	; get it
	LXI	SP,K21
	pchl
	DCR	D
CMDI108	INR	M
	nop		; don't stop
	dw	PUTP95 , GETJ69
?QH147	rst	7	; don't stop
	POP	d
	IF	K19 EQ 52747
GHOST:	NOP
	MVI	A,'
GHOST:	NOP
	ELSE
	DAD	D	; CHAR
	STAX	D	; don't stop
	ENDIF
	RNZ		; CHAR
;**********************************************************************
	dcx	B
loops18:	POP	PSW	; CHAR

	add	M

	DS	0
CMDC102:
	DELAY	H,<220>
	mov	E,L	; get it
	MVI	H,13	; <next> & %% !
PUTS98:

	DCX	H
ERRI128	POP	H
	jmp	($ lt 11100000101000b mod 1000000b) shr (2q shr 16062o or tabo34)	; <next> & %% !
	IRPC	V,5
	DB	'&V',V+1
	ENDM
	DB	')xzB)B;&%A',HIGH (HIGH K22),'0) ',-43
	LXI	sp,8d xor (10010b and k6)/113q
	RAL
	DW	$ , NOT $+14D XOR PUTC82 , K14 SHL (($ OR 65166D) LT $) , GETH67 , 3O
	IF	K12 EQ 245


	ELSE
GHOST:	NOP
	ENDIF
	mov	A,C
tabo34:	dw	$ , $ , not $ mod 110o	; CHAR

	IRP	V,<45,22>
	MVI	A,V
	ENDM
	DELAY	C,<28>
	ADI	high (not (low $ xor $-k15))	; don't stop
	IF	K21 EQ 39053
	MVI	A,'
	ELSE
	ani	120O
	CPO	K24
	ENDIF
	inx	H	; get it
	LDAX	b
	MOV	m,e	; don't stop
@XG166:
	IRP	V,<57,33>
	MVI	A,V
	ENDM
	RPE		; CHAR
GETM72:
; a comment line
	JPE	K13	; CHAR


?QS158:
	IRPC	V,441
	DB	'&V',V+1
	ENDM
@XT179:	MOV	A,L
	VARY	38475
	CC	K11

	DELAY	H,<-34>
	INX	H
	REPT	3
	DB	79
	INX	H
	ENDM
	DCX	B
	INR	E
GETD63:
	IF	K9 EQ 29636
	IRP	V,<37,101>
	MVI	A,V
	ENDM
	ELSE
	MVI	A,'
	IF	0
	DB	1
	ELSE
	ENDIF
	!!! ( junk
	ENDIF
msga40:	MOV	A,D
	pop	d
	IRP	V,<217>
	MVI	A,V
	ENDM
	RAL		; <next> & %% !
	lxi	D,$
	rc		; <next> & %% !
	MVI	H,-20H
	XCHG		; ring; the bell
	XRI	08ah	; don't stop
	CNC	HIGH (LOW (PUTC82 LT 111325Q))
	SUB	E	; get it
	db	low (@xj169)	; CHAR
	IF	K12 EQ 245
	ANA	L
GETT79:	STAX	B
	VARY	15316,%03BD4H+1,<1,2>
	mov	D,B
	ELSE
	ENDIF
	ORI	LOW (GETR77 LT (51593 OR 7Q OR $))
	JPE	12D
	SHLD	0D*$
	SUB	A
; a comment line
	DAD	sp
	JNC	22337 OR 14O-(TABS38 OR $)
	RST	5	; get it
ERRG126:
PUTC82:
LOOPH7:
LOOPL11:
NEXTN193:
GETK70:
PUTG86:
ERRN133:
NEXTJ189:
NEXTQ196:
PUTD83:
?QO154:
@XB161:
CMDO114:
TABM32:
ERRJ129:
GETR77:
LOOPI8:
GETA60:
LOOPC2:
GETJ69:
ERRP135:
?QF145:
ERRH127:
MSGO54:
TABP35:
PUTM92:
TABA20:
?QC142:
TABE24:
TABC22:
?QN153:
@XS178:
PUTF85:
PUTT99:
@XE164:
CMDF105:
?QL151:
NEXTH187:
MSGR57:
LOOPP15:
ERRB121:
NEXTI188:
LOOPB1:
TABT39:
NEXTG186:
CMDD103:
LOOPO14:
@XC162:
GETH67:
TABL31:
GETQ76:
?QE144:
CMDH107:
?QR157:
@XF165:
?QI148:
GETI68:
NEXTC182:
	END
