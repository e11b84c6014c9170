"""The trade as pure functions: (job, rule set) -> result. No clock, no files, no HTTP."""
