"""What each call takes, does and gives: forms in, answers out, and no HTTP."""
