"""What the name of a column tells: eye and axis, chair, time, pupil, target or marker."""

import re
import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from slowphase.recording.match import plain_name
from slowphase.recording.units import unit_of_text

_WORD = re.compile(r"[A-Z]?[a-zà-ÿ]+|[A-Z]+(?![a-z])")
_SIDES = {"r": "right", "l": "left"}
_AXES = {"h": "h", "x": "h", "v": "v", "y": "v"}


@dataclass(frozen=True, slots=True)
class NameGuess:
    """``family`` is time, counter, head, eye, pupil, target, marker, emg or ""."""

    family: str
    side: str = ""
    axis: str = ""
    motion: str = ""


def guess_from_name(name: str) -> NameGuess:
    """What a header name tells, word by word."""
    words = _words(name)
    motion = (
        "velocity" if _any(words, "velocity") else "position" if _any(words, "position") else ""
    )
    side = _side(words)
    for family in ("pupil", "marker", "emg", "target", "head", "counter", "time"):
        if _any(words, family):
            return NameGuess(family, side, _axis(words), motion)
    return _eye_guess(words, side, motion)


def _eye_guess(words: frozenset[str], side: str, motion: str) -> NameGuess:
    short = [_side_and_axis(word) for word in words]
    for found_side, found_axis in filter(None, short):
        return NameGuess("eye", found_side, found_axis, motion)
    axis = _axis(words)
    if axis and (side or _any(words, "eye")):
        return NameGuess("eye", side, axis, motion)
    return NameGuess("", side, axis, motion)


def _side_and_axis(word: str) -> tuple[str, str] | None:
    """The side and axis of short names such as Rx, HL, REH."""
    letters = word.replace("e", "") if len(word) == 3 else word
    if len(letters) != 2:
        return None
    for first, second in ((letters[0], letters[1]), (letters[1], letters[0])):
        if first in _SIDES and second in _AXES:
            return _SIDES[first], _AXES[second]
    return None


def _side(words: frozenset[str]) -> str:
    right, left = _any(words, "right"), _any(words, "left")
    return "" if right == left else "right" if right else "left"


def _axis(words: frozenset[str]) -> str:
    axes = {"h": "horizontal", "v": "vertical", "t": "torsional"}
    found = [axis for axis, table in axes.items() if _any(words, table)]
    return found[0] if len(found) == 1 else ""


def _any(words: frozenset[str], table: str) -> bool:
    return not words.isdisjoint(_table()[table])


def _words(name: str) -> frozenset[str]:
    bare = plain_name(name)
    words = [word.casefold() for word in _WORD.findall(bare)]
    if len(words) > 1 and unit_of_text(words[-1]):
        words.pop()
    joined = bare.casefold() if bare.isalpha() and len(bare) <= 3 else ""
    return frozenset(filter(None, (*words, joined)))


@cache
def _table() -> dict[str, list[str]]:
    return tomllib.loads((files(__package__) / "column_words.toml").read_text(encoding="utf-8"))
