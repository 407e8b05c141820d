; In ROM: it stores over itself, and reads what it was.
	ORG	177000Q
SELF:	MVI	A,123Q
	INR	A
	STA	SELF+1
	LDA	SELF+1
	HLT
