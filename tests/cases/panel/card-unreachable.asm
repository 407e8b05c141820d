; run: coldwright card % --switches 12 --home socket
	ORG	177000Q
	HLT
