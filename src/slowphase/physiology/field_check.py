"""Is a value of a scenario of the right type, and within the range of its key?

Types are those of the dataclass's fields; ranges stand in ``field_ranges.toml`` by the name of the
key, wherever it occurs.
"""

import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, is_dataclass
from difflib import get_close_matches
from functools import cache
from importlib.resources import files
from types import UnionType
from typing import Any, Literal, Union, get_args, get_origin, get_type_hints

from slowphase.foundation.errors import UsageError


@dataclass(frozen=True, slots=True)
class Range:
    """From ``low`` to ``high``, both allowed, in ``unit``."""

    low: float
    high: float
    unit: str

    def __str__(self) -> str:
        unit = "" if self.unit == "1" else f" {self.unit}"
        return f"{self.low:g} to {self.high:g}{unit}"


@cache
def ranges() -> Mapping[str, Range]:
    """The range of every key that has one."""
    source = files("slowphase.physiology") / "field_ranges.toml"
    tables = tomllib.loads(source.read_text(encoding="utf-8"))
    return {name: Range(**table) for name, table in tables.items()}


@cache
def field_types(kind: type) -> Mapping[str, Any]:
    """The types of a dataclass's fields by name."""
    return get_type_hints(kind)


def check_known(given: Iterable[str], known: Iterable[str], where: str) -> None:
    """Raises ``UsageError`` for a key that does not exist, naming those that do."""
    names = sorted(known)
    for key in given:
        if key not in names:
            near = get_close_matches(key, names, n=1)
            hint = f" (did you mean {near[0]!r}?)" if near else ""
            raise UsageError(f"unknown {key!r} in {where}{hint}; known: {', '.join(names)}")


def check_value(value: object, kind: Any, where: str, name: str) -> None:
    """Raises ``UsageError`` where the value is of another type, or out of its range."""
    if not _fits(value, kind):
        raise UsageError(f"{where} = {shown(value)}: expected {_words(kind)}")
    allowed = ranges().get(name)
    numbers = value if isinstance(value, list | tuple) else (value,)
    for number in numbers:
        if allowed is None or isinstance(number, bool) or not isinstance(number, int | float):
            continue
        if not allowed.low <= number <= allowed.high:
            raise UsageError(f"{where} = {shown(value)}: allowed is {allowed}")


def shown(value: object) -> str:
    """The value as a scenario file would have it."""
    if isinstance(value, bool):
        return "true" if value else "false"
    return f'"{value}"' if isinstance(value, str) else str(value)


def _fits(value: object, kind: Any) -> bool:
    origin, parts = get_origin(kind), get_args(kind)
    if origin in (Union, UnionType):
        return any(_fits(value, part) for part in parts)
    if origin is Literal:
        return value in parts
    if origin is tuple:
        return _fits_tuple(value, parts)
    if kind is float:
        return isinstance(value, int | float) and not isinstance(value, bool)
    if kind is int:
        return isinstance(value, int) and not isinstance(value, bool)
    return isinstance(value, kind)


def _fits_tuple(value: object, parts: tuple[Any, ...]) -> bool:
    if not isinstance(value, list | tuple):
        return False
    if len(parts) == 2 and parts[1] is Ellipsis:
        return all(_fits(entry, parts[0]) for entry in value)
    return len(value) == len(parts) and all(map(_fits, value, parts))


def _words(kind: Any) -> str:
    origin, parts = get_origin(kind), get_args(kind)
    if origin in (Union, UnionType):
        return " or ".join(_words(part) for part in parts if part is not type(None))
    if origin is Literal:
        return "one of " + ", ".join(f'"{part}"' for part in parts)
    if origin is tuple:
        return f"a list of {_words(parts[0]).removeprefix('a ')}s"
    if is_dataclass(kind):
        return "a table"
    names = {float: "a number", int: "a whole number", str: "a text", bool: "true or false"}
    return names.get(kind, str(kind))
