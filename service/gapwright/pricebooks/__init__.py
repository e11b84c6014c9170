"""Price books: what items, labour and fees cost, in versions as rule sets are."""
