; A problem in an included file goes back to the line that includes it.
	INCLUDE	'broken.inc'	;! `NOPE` is not defined ;! `QQQ` is no instruction
	INCLUDE	'ring-a.inc'	;! `ring-a.inc` includes itself
	INCLUDE	'broken.inc'	;! `QQQ` is no instruction
