"""Being built."""

from typing import Any


def add_edit(*_: Any) -> Any:
    """Being built."""
    raise NotImplementedError


def redo(*_: Any) -> Any:
    """Being built."""
    raise NotImplementedError


def undo(*_: Any) -> Any:
    """Being built."""
    raise NotImplementedError
