; run: coldwright assemble % -o out.tower
	HLT
