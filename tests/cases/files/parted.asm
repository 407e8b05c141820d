; run: coldwright convert % -o other.hex
	ORG	0
	HLT
	END
