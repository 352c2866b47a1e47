"""Optokinetic nystagmus and after-nystagmus."""
