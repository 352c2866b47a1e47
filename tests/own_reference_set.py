"""A clinic's own reference set, as its file would be."""

OWN_SET = """[set]
id = "our-own"
citation = "Own sessions, 2026"
mark = "local"
population = "healthy, own clinic"

[[entry]]
measure = "gain"
kind = "sinusoid"
unit = "1"
frequency_hz = 0.08
groups = [{ n = 40, mean = 0.6, sd = 0.1 }]
"""
