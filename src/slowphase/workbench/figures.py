"""Being built."""

from typing import Any


def figure(*_: Any) -> Any:
    """Being built."""
    raise NotImplementedError
