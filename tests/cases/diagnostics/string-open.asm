; run: coldwright assemble %
	DB	'BELL TOWER
