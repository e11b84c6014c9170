"""Publishing: what a rule set must show before it is published, and what differs between two."""
