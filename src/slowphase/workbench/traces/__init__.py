"""Traces for the eye: samples on an even grid, thinned to what a screen can show, and sent.

Nothing is ever computed from what these modules return.
"""
