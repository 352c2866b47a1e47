"""Benchmarks: speed, memory and accuracy, each beside the plain alternative in the same run."""
