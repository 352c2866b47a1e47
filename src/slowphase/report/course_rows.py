"""The rows of tables about a course, for the page and for the terminal."""

from __future__ import annotations

from typing import TYPE_CHECKING

from slowphase.course.followed import is_tested, label
from slowphase.course.multiplicity import LEVEL
from slowphase.course.wording import pattern_words, signed, unused_words, warning_words, word
from slowphase.reading.words import decimals, interval, number, reason_text, with_interval

if TYPE_CHECKING:
    from slowphase.course.change import Change
    from slowphase.course.comparison import Comparison
    from slowphase.course.retest import RetestSet
    from slowphase.course.series import Unmatched
    from slowphase.course.timeline import Course

HIDDEN = ("no_retest", "illustration", "spread_grows")  # what the limit says already
ROUGH = "†"  # behind a limit that is rough for all sizes


def split_changes(comparison: Comparison) -> tuple[list[Change], list[Change]]:
    """The tested measures, and the others."""
    tested = [one for one in comparison.changes if is_tested(one.key)]
    return tested, [one for one in comparison.changes if not is_tested(one.key)]


def value_words(one: Change, *, after: bool) -> str:
    """One of the two values with interval, without unit."""
    measure = one.after if after else one.before
    shown = number(measure.value, measure.unit)
    spread = interval(measure.low, measure.high, measure.unit)
    return f"{shown} ({spread})" if spread else shown


def change_text(one: Change) -> str:
    """The change with its interval and unit."""
    spread = interval(one.low, one.high, one.key.unit)
    return f"{signed(one.value, one.key.unit)}{f' ({spread})' if spread else ''}"


def limit_text(one: Change) -> str:
    """The smallest reliable change; illustrations say so."""
    if one.retest is None or one.limit is None:
        return "not known"
    shown = number(one.limit, one.key.unit)
    if float(shown) == 0.0:
        shown = f"<{10.0 ** -decimals(one.key.unit):g}"
    rough = ROUGH if one.retest.proportional else ""
    return f"{shown}, illustration" if one.retest.illustration else f"{shown}{rough}"


def result_text(one: Change) -> str:
    """How the change came out, alone and among all."""
    if not one.decides:
        return word("direction", "cannot_tell")
    said = word("direction", one.direction)
    if one.direction == "within":
        return said
    among = one.p_adjusted is not None and one.p_adjusted < LEVEL
    return said if among else word("alone", "yes").format(direction=said)


def chance_text(p: float | None) -> str:
    """A p value with three decimals at most."""
    if p is None:
        return "–"
    return "< 0.001" if p < 0.001 else f"{p:.3f}"


def doubts(one: Change) -> list[str]:
    """Why a change is less than it might be, in sentences."""
    said = [word("why", code) for code in one.why if code not in HIDDEN]
    graded = [m for m in (one.before, one.after) if m.grade != "sound"]
    codes = dict.fromkeys(code for m in graded for code in m.why)
    return [*said, *(reason_text(code) for code in codes)]


def unmatched_text(one: Unmatched) -> str:
    """What could not be compared, and why."""
    reason = word("unmatched", one.reason)
    if one.reason == "no_value":
        codes = [code for code in one.detail.split(", ") if code]
        return f"{reason}: {' '.join(reason_text(code) for code in codes)}" if codes else reason
    return f"{reason} ({one.detail})" if one.detail else reason


def unmatched_groups(comparison: Comparison) -> dict[str, list[str]]:
    """What could not be compared, by reason."""
    groups: dict[str, list[str]] = {}
    for one in comparison.unmatched:
        groups.setdefault(unmatched_text(one), []).append(label(one.key))
    return groups


def session_rows(course: Course) -> list[tuple[str, str]]:
    """Each session's day and pattern."""
    told = [pattern_words(state) for state in course.states]
    return [(day.isoformat(), words) for day, words in zip(course.days, told, strict=True)]


def session_warnings(course: Course) -> list[str]:
    """What makes a session doubtful, with its day, for the head of the course."""
    return [
        f"{day.isoformat()}: {text}"
        for day, state in zip(course.days, course.states, strict=True)
        for text in warning_words(state)
    ]


def unused_rows(course: Course) -> list[tuple[str, str]]:
    """The clinic's retests that match no measure, each with the reason."""
    return [(label(entry.key), unused_words(why)) for entry, why in course.unused_retests]


def retest_rows(retest: RetestSet) -> list[tuple[str, ...]]:
    """Each entry: measure, pairs, SEM, MDC95, effect, ICC, how it is known."""
    return [
        (
            label(entry.key),
            "–" if entry.n is None else str(entry.n),
            number(entry.sem, entry.key.unit),
            number(entry.mdc95, entry.key.unit),
            number(entry.effect, entry.key.unit) if entry.n else "–",
            with_interval(*entry.icc, "1") if entry.icc else "–",
            "illustration" if entry.illustration else entry.mark,
        )
        for entry in retest.entries
    ]
