; run: coldwright sheet %
	ORG	100Q
	END
