* Habits of other hands: each is read in the one way in which it can be read. ;! 4 lines beginning with `*`
 ** = ! an indented one, with 'a quote **
*==== a rule ====*
FLAGS	=	5	;! 3 names defined by `=`
PORT:	= 120Q + FLAGS
FLAGS	EQU	2+3	;! 3 names with the value
FLAGS	=	5 OR 1
HERE	EQU	$
HERE:	MVI	A,FLAGS	;= 076 005
	INCLUDE two-bytes.inc	;= 001 002 ;! 1 file named without quotes
	IF	FLAGS = 5 AND PORT > 120Q AND 2 < 3	;! 4 signs in a condition
	DB	1	;= 001
	ENDIF
	IF	FLAGS<5
	* a comment in what is left out, with ELSE
	DB	2
	ENDIF
STAR	MACRO	X
* A comment that ends no body: ENDM, X, '
	DB	X*2
	ENDM
	STAR	4	;= 010
	HLT		;= 166
