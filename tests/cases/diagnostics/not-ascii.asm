; run: coldwright assemble %
	DB	'café'
