"""Statements about the session, each with its evidence, limits and sources."""
