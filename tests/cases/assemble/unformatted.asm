; run: coldwright format --check %
 ORG 0
HERE: JMP HERE
