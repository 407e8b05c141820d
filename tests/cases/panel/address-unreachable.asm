; run: coldwright sheet % --switches 12
	ORG	177000Q
	HLT
