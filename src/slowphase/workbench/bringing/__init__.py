"""Bringing recordings in: files that come, what they hold, and the session that becomes of them."""
