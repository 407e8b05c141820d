; run: coldwright sheet % --machine machine.toml
	ORG	17776Q
	LXI	H,0
	HLT
