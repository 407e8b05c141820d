; run: coldwright assemble %
	TITLE	'BELL TOWER'
	ASEG
	HLT
