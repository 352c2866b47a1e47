"""Being built."""

from typing import Any


def folded(*_: Any) -> Any:
    """Being built."""
    raise NotImplementedError


def impulses(*_: Any) -> Any:
    """Being built."""
    raise NotImplementedError


def trial_answer(*_: Any) -> Any:
    """Being built."""
    raise NotImplementedError


def window(*_: Any) -> Any:
    """Being built."""
    raise NotImplementedError
