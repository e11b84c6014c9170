"""Price books: versioned prices of items, labor, and fees."""
