; run: coldwright convert % --to hex -o ./%
	ORG	0
	HLT
	END
