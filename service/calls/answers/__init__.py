"""The wire forms of results: what a caller reads, and how a result is shown in its units."""
