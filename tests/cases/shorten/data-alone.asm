; run: coldwright shorten %
        ORG     1000Q
        DB      'THE LAMP IS LIT'
        END     1000Q
