"""The shipped reference sets: what healthy people do, who says so, and for which stimulus.

The values live in ``sets/*.toml``, one file for each source. An entry that cannot honestly be
compared with what Slowphase measures stays in its file, with the reason in ``not_placed``.
"""

import hashlib
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from importlib.resources.abc import Traversable

from slowphase.reference.entry import ReferenceEntry
from slowphase.reference.set_file import read_set

__all__ = ["Mark", "ReferenceEntry", "marks", "read_set", "reference_digest", "reference_sets"]


@dataclass(frozen=True, slots=True)
class Mark:
    """How a value is known: the words for people, and its rank (low is preferred)."""

    text: str
    rank: int


@cache
def marks() -> dict[str, Mark]:
    """The ways of knowing a value, by code."""
    table = tomllib.loads((files(__package__) / "marks.toml").read_text(encoding="utf-8"))
    return {code: Mark(**entry) for code, entry in table.items()}


@cache
def reference_sets() -> tuple[ReferenceEntry, ...]:
    """Every entry of every set that is shipped, in the order of the files' names."""
    return tuple(
        entry for file in _set_files() for entry in read_set(file.read_text("utf-8"), file.name)
    )


@cache
def reference_digest() -> str:
    """SHA-256 of the shipped sets, names and bytes; it changes when a value changes."""
    digest = hashlib.sha256()
    for file in _set_files():
        digest.update(file.name.encode() + b"\0" + file.read_bytes() + b"\0")
    return digest.hexdigest()


def _set_files() -> Iterator[Traversable]:
    folder = files(__package__) / "sets"
    found = [file for file in folder.iterdir() if file.name.endswith(".toml")]
    return iter(sorted(found, key=lambda file: file.name))
