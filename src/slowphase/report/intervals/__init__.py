"""The page of a clinic's own reference intervals, and of a verified set."""
