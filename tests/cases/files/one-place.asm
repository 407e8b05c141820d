; run: coldwright convert % -o earlier.s19 -o ./earlier.s19
	ORG	0
	HLT
	END
