"""The keys that session.toml may hold, read from ``keys.toml``, and the check of one value."""

import tomllib
import unicodedata
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from functools import cache
from importlib.resources import files
from math import isfinite
from typing import Any

NO_RESPONSE = "no response"  # in place of a level, where the loudest tone was not heard
FIELD_DEG = 90.0
NO_CHARACTERS = ("Cc", "Cs")  # Unicode's general categories: controls, surrogates
SPACES = "\t\n\r"
_TYPE_WORDS = {
    "text": "a text in quotes",
    "number": "a number",
    "date": "a date such as 2026-03-02",
    "flag": "true or false",
    "numbers": "a list of numbers",
    "interval": "two rising numbers such as [60, 70]",
    "levels": 'a table of Hz to dB such as { 500 = 15, 4000 = 70, 8000 = "no response" }',
    "targets": "a list of places such as [0, -10, 10], or of pairs such as [[0, 0], [0, 10]], "
    f"each from {-FIELD_DEG:g} to {FIELD_DEG:g}",
    "any": "a value",
}


@dataclass(frozen=True, slots=True)
class Key:
    """One key: its type, range, unit, the words it may hold, and whether it must be there."""

    name: str
    type: str
    low: float | None = None
    high: float | None = None
    unit: str | None = None
    words: tuple[str, ...] = ()
    required: bool = False

    @property
    def expected(self) -> str:
        """What a right value looks like, in words."""
        if self.words:
            return "one of " + ", ".join(f'"{word}"' for word in self.words)
        unit = f" {self.unit}" if self.unit and self.unit != "1" else ""
        if self.low is None or abs(self.low) >= 1e12:
            return _TYPE_WORDS[self.type] + unit
        return f"a number from {self.low:g} to {self.high:g}{unit}"


@dataclass(frozen=True, slots=True)
class KeyTable:
    """The keys of one table; ``open`` tables take further keys.

    A further key that is nearly one of ``guarded`` is taken for a misspelling of it.
    """

    keys: Mapping[str, Key]
    open: bool = False
    guarded: tuple[str, ...] = ()


@cache
def key_tables() -> dict[str, KeyTable]:
    """The tables ``top``, ``patient``, ``session`` and ``trial``."""
    kinds = ("kind", "values")
    return {name: KeyTable(_keys(table)) for name, table in _file().items() if name not in kinds}


@cache
def kind_tables() -> dict[str, KeyTable]:
    """The keys that belong to each kind of trial."""
    return _nested("kind")


@cache
def value_tables() -> dict[str, KeyTable]:
    """The keys that belong to each test whose values were measured elsewhere."""
    return _nested("values")


def _nested(name: str) -> dict[str, KeyTable]:
    entries: dict[str, dict[str, Any]] = _file()[name]
    return {
        kind: KeyTable(_keys(entry.get("keys", {})), bool(entry.get("open", False)))
        for kind, entry in entries.items()
    }


def value_fits(key: Key, value: object) -> bool:
    """Whether a value has the type, range and wording of its key."""
    return _CHECKS[key.type](key, value)


def is_number(value: object) -> bool:
    """Whether a value is a finite number and not a flag."""
    return isinstance(value, int | float) and not isinstance(value, bool) and _finite(value)


def _finite(value: float) -> bool:
    try:
        return isfinite(float(value))
    except OverflowError:
        return False


def _number_fits(key: Key, value: object) -> bool:
    if not isinstance(value, int | float) or not is_number(value):
        return False
    return (key.low is None or value >= key.low) and (key.high is None or value <= key.high)


def _text_fits(key: Key, value: object) -> bool:
    if not isinstance(value, str) or not value.strip() or not is_plain(value):
        return False
    return not key.words or value in key.words


def is_plain(text: str) -> bool:
    """Whether a text can be written and shown: no control sign, no half of a surrogate pair."""
    return all(unicodedata.category(sign) not in NO_CHARACTERS or sign in SPACES for sign in text)


def _numbers_fit(_key: Key, value: object) -> bool:
    return isinstance(value, list) and all(is_number(item) for item in value)


def _interval_fits(key: Key, value: object) -> bool:
    return (
        isinstance(value, list)
        and _numbers_fit(key, value)
        and len(value) == 2
        and value[0] < value[1]
    )


def _levels_fit(_key: Key, value: object) -> bool:
    return isinstance(value, Mapping) and bool(value) and all(map(level_fits, value.items()))


def level_fits(entry: tuple[object, object]) -> bool:
    """Whether one entry of ``levels`` is a frequency (Hz) with a level (dB HL) or `NO_RESPONSE`."""
    frequency, level = entry
    return _is_frequency(frequency) and (level == NO_RESPONSE or _is_level(level))


def _is_frequency(name: object) -> bool:
    return isinstance(name, str) and name.isascii() and name.isdigit() and 20 <= int(name) <= 20000


def _is_level(value: object) -> bool:
    return isinstance(value, int | float) and is_number(value) and -20 <= value <= 140


def _targets_fit(key: Key, value: object) -> bool:
    """Places within the field of gaze: numbers (horizontal), or pairs (horizontal, vertical)."""
    if not isinstance(value, list) or not value:
        return False
    pairs = [place if isinstance(place, list) else [place, 0] for place in value]
    alike = len({isinstance(place, list) for place in value}) == 1
    return alike and all(
        len(pair) == 2 and all(is_number(at) and abs(at) <= FIELD_DEG for at in pair)
        for pair in pairs
    )


_CHECKS: dict[str, Callable[[Key, object], bool]] = {
    "text": _text_fits,
    "number": _number_fits,
    "date": lambda _key, value: isinstance(value, date),
    "flag": lambda _key, value: isinstance(value, bool),
    "numbers": _numbers_fit,
    "interval": _interval_fits,
    "levels": _levels_fit,
    "targets": _targets_fit,
    "any": lambda _key, _value: True,
}


def _keys(table: Mapping[str, Mapping[str, Any]]) -> dict[str, Key]:
    return {name: _key(name, dict(entry)) for name, entry in table.items()}


def _key(name: str, entry: dict[str, Any]) -> Key:
    words = entry.pop("words", ())
    return Key(name=name, words=tuple(words), **entry)


@cache
def _file() -> dict[str, dict[str, dict[str, Any]]]:
    return tomllib.loads((files(__package__) / "keys.toml").read_text(encoding="utf-8"))
