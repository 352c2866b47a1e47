"""The sentences about changes, from ``words.toml``."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING, Any

from slowphase.course.followed import is_tested, label
from slowphase.course.multiplicity import LEVEL
from slowphase.course.not_judged import judged_in_part
from slowphase.reading.words import number, quantity, unit_words

if TYPE_CHECKING:
    from collections.abc import Iterator

    from slowphase.course.change import Change
    from slowphase.course.comparison import Overall
    from slowphase.course.session_state import SessionState


SINGLE = 2  # so many changes of one kind are told one by one


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
    template = word("sentence", _in_part(overall, changes))
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
        names=_judged_names(changes),
        tested=overall.tested,
        count=len(real),
        method=word("method", overall.method),
    )


def verdict_words(overall: Overall, changes: tuple[Change, ...]) -> str:
    """The verdict in few words; what it is about where not everything could be judged."""
    return word("verdict", _in_part(overall, changes)).format(names=_judged_names(changes))


def _in_part(overall: Overall, changes: tuple[Change, ...]) -> str:
    part = overall.verdict == "no_real_change" and judged_in_part(changes)
    return f"{overall.verdict}_in_part" if part else overall.verdict


def _judged_names(changes: tuple[Change, ...]) -> str:
    """The kinds of measures that were judged: ``gain, lead``."""
    judged = [one for one in changes if one.p_adjusted is not None]
    return ", ".join(dict.fromkeys(label(one.key).split(",")[0] for one in judged))


def beyond_words(beyond: tuple[Change, ...]) -> str:
    """The sentence about changes that nothing judges; empty without any."""
    if not beyond:
        return ""
    return word("not_judged", "changed").format(changed="; ".join(_beyond_words(beyond)))


def _beyond_words(beyond: tuple[Change, ...]) -> Iterator[str]:
    """Single changes with both values; those of one kind and direction together."""
    groups: dict[tuple[str, str, bool], list[Change]] = {}
    for one in beyond:
        way = way_of(one)
        name = label(one.key).split(",")[0]
        groups.setdefault((name, way, is_tested(one.key)), []).append(one)
    for (name, way, _), found in groups.items():
        if len(found) <= SINGLE:
            yield from (_both_values(one) for one in found)
            continue
        reach = _reach(found)
        yield f"{name} {word('direction', way)} by {reach} in {len(found)} measures"


def way_of(one: Change) -> str:
    """Which way a value went; of one with a sign that tells the side, whether toward 0 or away."""
    before, after = one.before.value or 0.0, one.after.value or 0.0
    if min(before, after) < 0.0:
        return "nearer" if abs(after) < abs(before) else "further"
    return "rises" if one.value > 0.0 else "falls"


def _reach(found: list[Change]) -> str:
    """By how much values changed; a difference of percentages is in percentage points."""
    unit = found[0].key.unit
    reach = _range("", unit, sorted(abs(one.value) for one in found))
    return reach.replace("%", "percentage points") if unit == "%" else reach


def _both_values(one: Change) -> str:
    values = [number(measure.value, one.key.unit) for measure in (one.before, one.after)]
    return f"{label(one.key)} {' → '.join(values)} {unit_words(one.key.unit)}".strip()


def warning_words(state: SessionState) -> tuple[str, ...]:
    """The warnings of one session, in sentences without a subject of their own."""
    return tuple(
        word("session", code).format(trials=f" in {', '.join(ids)}" if ids else "")
        for code, ids in zip(state.warnings, state.trials, strict=True)
    )


def pattern_words(state: SessionState) -> str:
    """The pattern of one session with its stage and strength: ``peripheral loss, right (firm)``."""
    if state.pattern is None:
        return word("session", "no_pattern")
    if not state.told:
        return word("session", "not_told").format(title=state.pattern.title)
    return f"{state.pattern.title} ({state.pattern.strength})"


def unused_words(differing: tuple[tuple[str, str, str], ...]) -> str:
    """Why an entry of the retests matches nothing."""
    near = [
        word("not_judged", "differing").format(name=name, own=own, there=there)
        for name, own, there in differing
    ]
    if not near:
        return word("not_judged", "none_near")
    return word("not_judged", "near").format(differing="; ".join(near))


def _changed_words(real: list[Change]) -> Iterator[str]:
    """The real changes, those of one kind and direction together."""
    groups: dict[tuple[str, str], list[Change]] = {}
    for one in real:
        groups.setdefault((label(one.key).split(",")[0], way_of(one)), []).append(one)
    for (name, direction), found in groups.items():
        if len(found) == 1:
            yield change_words(found[0])
            continue
        yield f"{name} {word('direction', direction)} by {_reach(found)} in {len(found)} measures"


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
