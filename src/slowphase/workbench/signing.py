"""Being built."""

from typing import Any


class Shown:
    """A page."""

    page = ""
    reading_digest = ""


def report_page(*_: Any) -> Any:
    """Being built."""
    raise NotImplementedError


def report_pdf(*_: Any) -> Any:
    """Being built."""
    raise NotImplementedError


def save_draft(*_: Any) -> Any:
    """Being built."""
    raise NotImplementedError


def sign_reading(*_: Any) -> Any:
    """Being built."""
    raise NotImplementedError


def new_signer(*_: Any) -> Any:
    """Being built."""
    raise NotImplementedError


def signer_entries(*_: Any) -> Any:
    """Being built."""
    raise NotImplementedError
