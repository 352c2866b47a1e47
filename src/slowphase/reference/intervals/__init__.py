"""A clinic's own reference intervals: from healthy people's values to a reference set."""
