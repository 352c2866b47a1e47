"""Slowphase: from raw rotational-chair and eye traces to a reading that can be audited."""

__version__ = "0.1.0"
