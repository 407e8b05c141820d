; run: coldwright assemble % -o no-such-folder/out.bin
	HLT
