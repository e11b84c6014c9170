"""Rule sets: YAML files read strictly, resolved, proved and versioned."""
