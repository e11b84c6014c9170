"""Proof that a decision table answers everything and that each of its rows is of use."""
