"""Build a rule set from plain data, every entry checked and every fault reported."""
