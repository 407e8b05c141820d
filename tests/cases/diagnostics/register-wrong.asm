; run: coldwright assemble %
	LDAX	H
