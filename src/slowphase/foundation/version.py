"""The version, where every layer can ask for it."""

__version__ = "0.1.0"
