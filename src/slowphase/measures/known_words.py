"""Which words name a measure: kind, name, unit and vision typed by hand, against those there are.

A word that no measure has is not wrong TOML: its row would lie there unused, and nobody would be
told. Definition and part are not held against a list: where they differ, the report says so.
"""

import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from fnmatch import fnmatchcase
from functools import cache
from importlib.resources import files
from typing import Any


@dataclass(frozen=True, slots=True)
class UnknownWord:
    """A word that no measure has: its key, and what would be right (with the nearest one)."""

    key: str
    expected: str


def unknown_words(row: Mapping[str, Any], *, name_key: str) -> Iterator[UnknownWord]:
    """The words of ``row`` that no measure has; ``name_key`` is its key for the measure's name.

    Keys that are missing or hold no text are left to the reader of the file.
    """
    known = _known()
    for key, words in (("level", "levels"), ("kind", "kinds"), ("vision", "visions")):
        if isinstance(row.get(key), str) and row[key] not in known[words]:
            yield UnknownWord(key, nearest(row[key], known[words]))
    name = row.get(name_key)
    if not isinstance(name, str):
        return
    units = units_of(name)
    if units is None:
        yield UnknownWord(name_key, nearest(name, list(known["units"])))
    elif isinstance(row.get("unit"), str) and row.get("kind") not in known["raw"]:
        fitting = units or known["all_units"]
        if row["unit"] not in fitting:
            yield UnknownWord("unit", nearest(row["unit"], fitting))


def units_of(name: str) -> list[str] | None:
    """The units of a measure (empty: any); None when no measure has this name."""
    units: dict[str, list[str]] = _known()["units"]
    found = (own for pattern, own in units.items() if fnmatchcase(name, pattern))
    return units.get(name) or next(found, None)


def nearest(word: str, known: list[str]) -> str:
    """What would be right: the nearest known word first where one is near."""
    near = get_close_matches(word, known, n=1)
    listed = ", ".join(f'"{one}"' for one in known)
    one_of = f"one of {listed}" if len(known) > 1 else listed
    return f'{one_of} (did you mean "{near[0]}"?)' if near else one_of


@cache
def _known() -> dict[str, Any]:
    return tomllib.loads((files(__package__) / "known_words.toml").read_text(encoding="utf-8"))
