"""Saccades to a target that jumps."""
