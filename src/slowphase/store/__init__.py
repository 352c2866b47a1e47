"""The clinic's store: sessions, edits, readings and a log, kept so that nothing confirmed is lost."""
