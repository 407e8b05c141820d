; run: coldwright assemble %
NAME1:	DW	'TOWER'
