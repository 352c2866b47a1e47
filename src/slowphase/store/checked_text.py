"""Texts that people give: names, reasons, titles; each plain, not empty where it must not be."""

import unicodedata

from slowphase.recording.keys import is_plain
from slowphase.store.errors import StoreError

NAME_LONGEST, TITLE_LONGEST, REASON_LONGEST = 200, 300, 2_000
TEXT_LONGEST = 4 * 2**20
KEY_LONGEST = 100


def checked_by(by: str) -> str:
    """Who makes a change."""
    return _checked(by, "by", NAME_LONGEST, "a name, such as A. Meyer")


def checked_reason(reason: str) -> str:
    """Why a change is made."""
    return _checked(reason, "reason", REASON_LONGEST, "a reason in a few words")


def checked_title(title: str) -> str:
    """What a session is called; may be empty."""
    return _checked(title, "title", TITLE_LONGEST, "a short title") if title.strip() else ""


def checked_name(name: str, what: str) -> str:
    """What a map or a reference set is called: it may become the name of a file."""
    checked = _checked(name, what, KEY_LONGEST, "a short name")
    if set(checked) & set('/\\:*?"<>|') or checked.startswith(".") or checked.endswith("."):
        raise StoreError(
            f'{what} {checked!r}: expected a name without / \\ : * ? " < > | and dots at its ends'
        )
    return checked


def checked_content(text: str, what: str) -> str:
    """The content of a map, a reference set or notes; may be empty."""
    if len(text) > TEXT_LONGEST or not is_plain(text):
        raise StoreError(
            f"{what} has {len(text)} characters: expected a text of at most {TEXT_LONGEST}, "
            "without control signs"
        )
    return text


def _checked(text: str, what: str, longest: int, expected: str) -> str:
    plain = " ".join(unicodedata.normalize("NFC", text).split())
    if not plain or len(plain) > longest or not is_plain(plain):
        raise StoreError(
            f"{what} is {text[:40]!r} ({len(text)} characters): expected {expected}, "
            f"of 1 to {longest} characters without control signs"
        )
    return plain
