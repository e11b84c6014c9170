"""Decision tables: rows of conditions over facts, looked up by hit policy."""
