; All listing controls of a source together get one note.
	TITLE	'BELL TOWER'	;! 9 listing controls are passed over
	NAME	BELLS
$ NOLIST
$TITLE('BELLS')
	PAGE
	EJECT
	SUBTITLE 'ropes'
	ASEG
	SPACE	2
	HLT	;= 166
