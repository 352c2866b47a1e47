"""A reference set's file against its table of keys: one clear problem for each thing wrong."""

import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from functools import cache
from importlib.resources import files
from typing import Any

from slowphase.foundation.problem import Problem
from slowphase.measures.known_words import unknown_words
from slowphase.recording.report_problem import make_problem, quote
from slowphase.recording.toml_lines import TomlLines
from slowphase.reference.set_values import (
    curve,
    intervals,
    is_age_range,
    is_number,
    pair,
    percentiles,
)

PROBLEM = "invalid_reference_set"
_WAYS = {
    "mean and sd": ("mean", "sd"),
    "percentiles": ("percentiles",),
    "a curve": ("curve",),
    "limits": ("lower", "upper"),
}
Table = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class SetPlace:
    """Where in a set's file: the table, which one of its kind, and the group within an entry."""

    file: str
    lines: TomlLines
    table: str
    index: int = 0
    group: int | None = None

    def problem(self, key: str, what: str, *, expected: str, remedy: str) -> Problem:
        """A problem of one key here."""
        return make_problem(
            PROBLEM, what, expected=expected, remedy=remedy, file=self.file,
            line=self._line(key), key=self._path(key),
        )  # fmt: skip

    def name(self) -> str:
        """The place in words."""
        return self._path("")

    def _line(self, key: str) -> int | None:
        return self.lines.of(self.table, "groups" if self.group is not None else key,
                             index=self.index)  # fmt: skip

    def _path(self, key: str) -> str:
        place = self.table if self.table != "entry" else f"entry {self.index + 1}"
        inside = place if self.group is None else f"{place}, group {self.group + 1}"
        return f"{inside}, {key}" if key else inside


@cache
def set_keys() -> Mapping[str, Table]:
    """The known keys of each table of a set's file."""
    return tomllib.loads((files(__package__) / "set_keys.toml").read_text(encoding="utf-8"))


def check_keys(table: object, known: str, place: SetPlace) -> Iterator[Problem]:
    """What is wrong with the keys of one table and with the value of each."""
    if not isinstance(table, Mapping):
        yield place.problem("", f"found {quote(table)}", expected="a table", remedy="write it so")
        return
    keys = set_keys()[known]
    for name, value in table.items():
        if name not in keys:
            yield _unknown(name, list(keys), place)
        elif not _fits(keys[name], value):
            yield place.problem(
                name, f"found {quote(value)}", expected=_expected(keys[name]), remedy="correct it"
            )


def check_missing(table: Table, known: str, place: SetPlace) -> Iterator[Problem]:
    """The required keys that are not there."""
    for name, key in set_keys()[known].items():
        if key.get("required") and name not in table:
            yield place.problem(
                name, "the key is missing", expected=_expected(key), remedy=f"add {name} = …"
            )


def check_words(entry: Table, place: SetPlace) -> Iterator[Problem]:
    """The words that no measure has: such an entry would never be used."""
    for word in unknown_words(entry, name_key="measure"):
        yield place.problem(
            word.key, f"no measure has {quote(entry[word.key])}", expected=word.expected,
            remedy="correct it, or say in not_placed why the entry is kept",
        )  # fmt: skip


def check_group(group: Table, place: SetPlace, *, compared: bool) -> Iterator[Problem]:
    """Whether the values of a group, each sound by itself, make sense together."""
    if ("mean" in group) != ("sd" in group):
        there, absent = ("mean", "sd") if "mean" in group else ("sd", "mean")
        yield place.problem(
            there, f"{there} without {absent}", expected="both", remedy=f"add {absent} = …"
        )
    lower, upper = group.get("lower"), group.get("upper")
    if lower is not None and upper is not None and lower >= upper:
        relation = "is above" if lower > upper else "equals"
        yield place.problem("lower", f"lower = {lower:g} {relation} upper = {upper:g}",
                            expected="lower below upper", remedy="correct them")  # fmt: skip
    ways = [way for way in _WAYS if any(key in group for key in _WAYS[way])]
    if len(ways) > 1:
        yield place.problem(
            _WAYS[ways[1]][0], f"the group holds {' and '.join(ways)}",
            expected="one way to say the limits", remedy="keep what the source states",
        )  # fmt: skip
    if compared and not ways:
        yield place.problem("", "the group holds no values", remedy="add the published values",
                            expected="mean and sd, percentiles, curve, lower or upper")  # fmt: skip


def _unknown(name: str, keys: list[str], place: SetPlace) -> Problem:
    near = get_close_matches(name, keys, n=1, cutoff=0.6)
    expected = f'"{near[0]}"' if near else "one of " + ", ".join(keys)
    return place.problem(name, "the key is not known", expected=expected, remedy="correct it")


def _expected(key: Table) -> str:
    if "words" in key:
        return "one of " + ", ".join(f'"{word}"' for word in key["words"])
    above = f" above {key['above']:g}" if "above" in key else ""
    return f"{set_keys()['expected'][key['type']]}{above}"


def _fits(key: Table, value: object) -> bool:
    if "words" in key:
        return value in key["words"]
    if key["type"] == "number":
        return isinstance(value, int | float) and _is_above(value, key.get("above"))
    return _TYPES[key["type"]](value)


def _is_above(value: float, above: float | None) -> bool:
    return is_number(value) and (above is None or value > above)


def _is_list(value: object, *kinds: type) -> bool:
    return isinstance(value, list) and all(isinstance(part, kinds) for part in value)


_TYPES = {
    "text": lambda value: isinstance(value, str),
    "filled": lambda value: isinstance(value, str) and bool(value.strip()),
    "ages": lambda value: is_age_range(pair(value)),
    "count": lambda value: isinstance(value, int) and not isinstance(value, bool) and value > 0,
    "range": lambda value: pair(value) is not None,
    "numbers": lambda value: isinstance(value, list) and all(map(is_number, value)),
    "texts": lambda value: _is_list(value, str),
    "groups": lambda value: _is_list(value, dict) and len(value) > 0,
    "percentiles": lambda value: percentiles(value) is not None,
    "curve": lambda value: curve(value) is not None,
    "intervals": lambda value: intervals(value) is not None,
}
