; run: coldwright card % --machine machine.toml
	ORG	17776Q
	LXI	H,0
	HLT
