"""From the text of a reference set to its entries, or to everything that is wrong with it."""

import tomllib
from collections.abc import Iterator, Mapping
from typing import Any

from slowphase.foundation.errors import InputError
from slowphase.foundation.problem import Problem
from slowphase.recording.report_problem import make_problem
from slowphase.recording.toml_lines import find_lines
from slowphase.reference.entry import ReferenceEntry
from slowphase.reference.set_check import (
    PROBLEM,
    SetPlace,
    check_group,
    check_keys,
    check_missing,
    check_words,
)
from slowphase.reference.set_overlap import (
    FREQUENCY_TOLERANCE,
    Placed,
    check_overlaps,
    frequency_range_hz,
)
from slowphase.reference.set_values import curve, intervals, pair, percentiles

__all__ = ["FREQUENCY_TOLERANCE", "read_set"]

Table = Mapping[str, Any]
_OF_ENTRY = ("measure", "kind", "unit", "vision", "of", "definition", "peak_velocity_deg_s",
             "recording", "alerting")  # fmt: skip
_OF_GROUP = ("n", "mean", "sd", "lower", "upper", "sex")
_TOP = ("set", "defaults", "entry", "built")


def read_set(text: str, file: str = "reference set") -> tuple[ReferenceEntry, ...]:
    """The entries of one set's TOML text; ``file`` is its name for messages.

    Raises `InputError` with one problem for each key that is missing, unknown or wrong.
    """
    table = _parse(text, file)
    problems = tuple(_check(table, text, file))
    if problems:
        raise InputError(problems)
    defaults = table.get("defaults", {})
    return tuple(
        _entry(table["set"], {**defaults, **entry}, group)
        for entry in table["entry"]
        for group in entry.get("groups", defaults.get("groups", ()))
    )


def _parse(text: str, file: str) -> dict[str, Any]:
    try:
        return tomllib.loads(text)
    except (ValueError, RecursionError) as error:
        raise InputError([make_problem(
            PROBLEM, f"this is not valid TOML: {error}", expected="key = value, [set] or [[entry]]",
            remedy="correct that line", file=file,
        )]) from error  # fmt: skip


def _check(table: Table, text: str, file: str) -> Iterator[Problem]:
    lines = find_lines(text)
    top = SetPlace(file, lines, "")
    for name in table:
        if name not in _TOP:
            yield top.problem(name, "the table is not known", expected="[set], [defaults], "
                              "[[entry]] or [built]", remedy="correct its name")  # fmt: skip
    head, defaults = table.get("set", {}), table.get("defaults", {})
    yield from check_keys(head, "set", SetPlace(file, lines, "set"))
    if isinstance(head, Mapping):
        yield from check_missing(head, "set", SetPlace(file, lines, "set"))
    yield from check_keys(defaults, "entry", SetPlace(file, lines, "defaults"))
    entries = table.get("entry")
    if not isinstance(entries, list) or not entries:
        yield top.problem("entry", "there is no entry", expected="one [[entry]] for each measure",
                          remedy="add one")  # fmt: skip
        return
    shared = defaults if isinstance(defaults, Mapping) else {}
    sound: list[Placed] = []
    for index, entry in enumerate(entries):
        yield from _check_entry(entry, shared, SetPlace(file, lines, "entry", index), sound)
    yield from check_overlaps(sound)


def _check_entry(
    entry: object, defaults: Table, place: SetPlace, sound: list[Placed]
) -> Iterator[Problem]:
    """What is wrong with an entry; its sound groups to be compared are added to ``sound``."""
    yield from check_keys(entry, "entry", place)
    if not isinstance(entry, Mapping):
        return
    whole = {**defaults, **entry}
    yield from check_missing(whole, "entry", place)
    if "not_placed" not in whole:
        yield from check_words(whole, place)
    groups = whole.get("groups")
    for number, group in enumerate(groups if isinstance(groups, list) else ()):
        inside = SetPlace(place.file, place.lines, "entry", place.index, number)
        wrong = tuple(check_keys(group, "groups", inside))
        yield from wrong
        if not wrong:
            wrong = tuple(check_group(group, inside, compared="not_placed" not in whole))
            yield from wrong
        if not wrong and "not_placed" not in whole:
            sound.append((whole, group, inside))


def _entry(head: Table, entry: Table, group: Table) -> ReferenceEntry:
    fields: dict[str, Any] = {key: entry[key] for key in _OF_ENTRY if key in entry}
    fields |= {key: group[key] for key in _OF_GROUP if key in group}
    fields = {key: head[key] for key in ("alerting", "recording") if key in head} | fields
    notes = (str(part) for part in (entry.get("definition_note"), group.get("note")) if part)
    by_age = curve(group.get("curve")) or ()
    return ReferenceEntry(
        set=head["id"],
        source=head["citation"],
        bib=head.get("bib", ""),
        mark=head["mark"],
        population=head["population"],
        frequencies_hz=frequency_range_hz(entry),
        ages=pair(group.get("ages"))
        or ((by_age[0].age_years, by_age[-1].age_years) if by_age else None),
        note="; ".join(notes),
        not_placed=str(entry.get("not_placed", "")),
        percentiles=percentiles(group.get("percentiles")) or (),
        curve=by_age,
        limit_intervals=intervals(group.get("limit_intervals", {})) or {},
        **fields,
    )
