"""The sentences about changes, from ``words.toml``."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING, Any

from slowphase.course.followed import label
from slowphase.course.multiplicity import LEVEL
from slowphase.reading.words import number, quantity, unit_words

if TYPE_CHECKING:
    from collections.abc import Iterator

    from slowphase.course.change import Change
    from slowphase.course.comparison import Overall


@cache
def course_words() -> dict[str, Any]:
    """All words of a course, by group and code."""
    return tomllib.loads((files(__package__) / "words.toml").read_text(encoding="utf-8"))


def word(group: str, code: str) -> str:
    """The words of a code."""
    return str(course_words()[group][code])


def cautions() -> tuple[str, ...]:
    """The cautions that go with every course."""
    return tuple(course_words()["caution"]["always"])


def signed(value: float, unit: str) -> str:
    """A change with its sign and unit."""
    text = quantity(value, unit)
    return f"+{text}" if value > 0.0 and float(number(value, unit)) != 0.0 else text


def change_words(one: Change) -> str:
    """A change in a sentence: ``gain, 0.02 Hz −0.14 (limit 0.10)``; why it does not count."""
    said = f"{label(one.key)} {signed(one.value, one.key.unit)}"
    if one.limit is not None and one.decides:
        doubt = ", graded caution" if "not_sound" in one.why else ""
        return f"{said} (limit {number(one.limit, one.key.unit)}{doubt})"
    return f"{said} (no limit that may decide)"


def overall_words(overall: Overall, changes: tuple[Change, ...], days: tuple[str, str]) -> str:
    """The one sentence about two sessions, by their days."""
    template = word("sentence", overall.verdict)
    before, after = days
    if overall.verdict == "cannot_tell":
        why = " ".join(word("cannot_tell", code) for code in overall.why)
        return template.format(before=before, after=after, why=why)
    real = [one for one in changes if one.p_adjusted is not None and one.p_adjusted < LEVEL]
    return template.format(
        before=before,
        after=after,
        changed="; ".join(_changed_words(real)),
        smallest=_smallest_words(changes),
        tested=overall.tested,
        count=len(real),
        method=word("method", overall.method),
    )


def _changed_words(real: list[Change]) -> Iterator[str]:
    """The real changes, those of one kind and direction together."""
    groups: dict[tuple[str, str], list[Change]] = {}
    for one in real:
        groups.setdefault((label(one.key).split(",")[0], one.direction), []).append(one)
    for (name, direction), found in groups.items():
        if len(found) == 1:
            yield change_words(found[0])
            continue
        unit = found[0].key.unit
        sizes = sorted(abs(one.value) for one in found)
        reach = _range("", unit, sizes)
        yield f"{name} {word('direction', direction)} by {reach} in {len(found)} measures"


def _smallest_words(changes: tuple[Change, ...]) -> str:
    """The smallest change of each kind of measure that would have been seen, as a range."""
    ranges: dict[tuple[str, str], list[float]] = {}
    for one in changes:
        if one.p_adjusted is not None and one.smallest is not None:
            name = label(one.key).split(",")[0]
            ranges.setdefault((name, one.key.unit), []).append(one.smallest)
    return ", ".join(_range(name, unit, sizes) for (name, unit), sizes in ranges.items())


def _range(name: str, unit: str, sizes: list[float]) -> str:
    low, high = number(min(sizes), unit), number(max(sizes), unit)
    spread = low if low == high else f"{low}–{high}"
    return f"{name} {spread} {unit_words(unit)}".strip()
