"""Declared rules of follow-up, one file for each set, and the few words that they are made of."""
