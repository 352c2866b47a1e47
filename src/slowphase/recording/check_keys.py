"""Every key of a table against the keys that the table may hold."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from difflib import get_close_matches

from slowphase.foundation.problem import Problem
from slowphase.recording.keys import Key, KeyTable, is_number, level_fits, value_fits
from slowphase.recording.report_problem import make_problem, quote
from slowphase.recording.toml_lines import TomlLines


@dataclass(frozen=True, slots=True)
class Place:
    """The table of session.toml that is looked at."""

    lines: TomlLines
    table: str
    index: int = 0
    trial: str | None = None

    def line(self, key: str = "") -> int | None:
        """The line of a key, or of the table."""
        return self.lines.of(self.table, key, index=self.index)


@dataclass(frozen=True, slots=True)
class Checked:
    """The sound values of a table, and what is wrong with the others."""

    values: Mapping[str, object]
    problems: tuple[Problem, ...]
    missing: tuple[str, ...] = ()


def check_table(
    table: object, known: KeyTable, place: Place, *, keep_unknown: bool = False
) -> Checked:
    """The values of ``table`` that fit ``known``; one problem for each that does not.

    Unknown keys of an open table (or with ``keep_unknown``) are kept unless they look like a
    misspelling of a known key that is absent.
    """
    if not isinstance(table, Mapping):
        return _not_a_table(table, place)
    values: dict[str, object] = {}
    problems: list[Problem] = []
    for name, value in table.items():
        problem = _problem_of(name, value, table, known, place, keep_unknown or known.open)
        if problem is None:
            values[name] = value
        elif levels := _sound_levels(known.keys.get(name), value):
            values[name] = levels
            problems += _wrong_levels(known.keys[name], value, place)
        else:
            problems.append(problem)
    absent = [key for key in known.keys.values() if key.required and key.name not in table]
    problems += [missing_key(key, place) for key in absent]
    missing = tuple(name for name, key in known.keys.items() if key.required and name not in values)
    return Checked(values, tuple(problems), missing)


def missing_key(key: Key, place: Place) -> Problem:
    """The problem of a key that must be there and is not."""
    return make_problem(
        "missing_key",
        "the key is missing",
        expected=key.expected,
        remedy=f"add {key.name} = …",
        trial=place.trial,
        line=place.line(),
        key=key.name,
    )


def wrong_value(key: Key, value: object, place: Place) -> Problem:
    """The problem of a value of the wrong type, range or wording."""
    return make_problem(
        _code_of(key, value),
        f"found {quote(value)}",
        expected=key.expected,
        remedy="correct the value" + _nearest_word(key, value),
        found=value,
        trial=place.trial,
        line=place.line(key.name),
        key=key.name,
    )


def unknown_key(name: str, known: KeyTable, place: Place) -> Problem:
    """The problem of a key that nothing reads, with the nearest known key."""
    near = get_close_matches(name, known.keys, n=1, cutoff=0.6)
    expected = f'"{near[0]}"' if near else "one of " + ", ".join(known.keys)
    return make_problem(
        "unknown_key",
        "the key is not known and was not used",
        expected=expected,
        remedy="correct or remove it",
        found=name,
        trial=place.trial,
        line=place.line(name),
        key=name,
    )


def _problem_of(
    name: str,
    value: object,
    table: Mapping[str, object],
    known: KeyTable,
    place: Place,
    keep_unknown: bool,
) -> Problem | None:
    key = known.keys.get(name)
    if key is not None:
        return None if value_fits(key, value) else wrong_value(key, value, place)
    guarded = known.guarded if known.open else known.keys
    near = get_close_matches(name, guarded, n=1, cutoff=0.8)
    misspelt = bool(near) and near[0] not in table
    return unknown_key(name, known, place) if misspelt or not keep_unknown else None


def _sound_levels(key: Key | None, value: object) -> dict[object, object]:
    """The sound entries of a table of levels, of which another one is wrong."""
    if key is None or key.type != "levels" or not isinstance(value, Mapping):
        return {}
    return dict(filter(level_fits, value.items()))


def _wrong_levels(key: Key, value: object, place: Place) -> Iterator[Problem]:
    """One problem for each entry of a table of levels that is wrong."""
    entries = value.items() if isinstance(value, Mapping) else ()
    for frequency, level in (entry for entry in entries if not level_fits(entry)):
        yield make_problem(
            "wrong_value",
            f"the entry {frequency} = {quote(level)} is no level; the others are kept",
            expected='20 to 20000 Hz with -20 to 140 dB or "no response"',
            remedy="correct this entry",
            found=f"{frequency} = {level}",
            trial=place.trial,
            line=place.line(key.name),
            key=key.name,
        )


def _code_of(key: Key, value: object) -> str:
    if key.type == "date":
        return "impossible_date"
    if key.name == "age_years" and is_number(value):
        return "impossible_age"
    if key.type == "number" and is_number(value):
        return "out_of_range"
    if key.words and isinstance(value, str):
        return "wrong_value"
    return "wrong_type"


def _nearest_word(key: Key, value: object) -> str:
    near = get_close_matches(str(value).lower(), key.words, n=1)
    return f' (did you mean "{near[0]}"?)' if near else ""


def _not_a_table(table: object, place: Place) -> Checked:
    problem = make_problem(
        "wrong_type",
        f"found {quote(table)}",
        expected=f"a table [{place.table}]",
        remedy="write it as a table",
        found=table,
        line=place.line(),
        key=place.table,
    )
    return Checked({}, (problem,))
