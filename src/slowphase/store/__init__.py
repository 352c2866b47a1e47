"""The clinic's store: sessions, edits, readings and a log; nothing confirmed is lost."""
