"""Being built."""

from typing import Any


def patient_entries(*_: Any) -> Any:
    """Being built."""
    raise NotImplementedError


def patient_entry(*_: Any) -> Any:
    """Being built."""
    raise NotImplementedError


def session_entry(*_: Any) -> Any:
    """Being built."""
    raise NotImplementedError


def log_entry(*_: Any) -> Any:
    """Being built."""
    raise NotImplementedError
