; run: coldwright lights % --switches 12
	ORG	177000Q
	HLT
