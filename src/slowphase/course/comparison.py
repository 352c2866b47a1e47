"""Two sessions compared: every change, what could not be compared, and one judgement of all."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

from slowphase.course.change import POWER_QUANTILE, Change, change, quantile
from slowphase.course.followed import is_tested
from slowphase.course.multiplicity import LEVEL, Adjusted, Method, adjust
from slowphase.course.series import Series, Unmatched, unmatched, usable

if TYPE_CHECKING:
    from slowphase.analysis.result import Analysis
    from slowphase.course.retest import Retest, RetestSet

Verdict = Literal["real_change", "no_real_change", "cannot_tell"]
CONDITIONS = ("alerting", "medication", "recorder", "recording", "eyes", "light", "head_pitch_deg")


@dataclass(frozen=True, slots=True)
class Overall:
    """The judgement of two sessions as a whole.

    ``tested`` is the number of measures that entered it, ``method`` how the many were handled;
    ``first_level`` is the level that the smallest p was held to.
    """

    verdict: Verdict
    tested: int
    method: Method
    first_level: float
    why: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Comparison:
    """Session ``after`` against session ``before`` (places in the course, from 0).

    ``why`` says what makes the whole comparison less than it might be (codes of ``words.toml``),
    ``differing`` names the conditions that differ.
    """

    before: int
    after: int
    changes: tuple[Change, ...]
    unmatched: tuple[Unmatched, ...]
    overall: Overall
    why: tuple[str, ...] = ()
    differing: tuple[str, ...] = ()


def compare(
    analyses: Sequence[Analysis],
    series: Sequence[Series],
    before: int,
    after: int,
    retest: RetestSet,
) -> Comparison:
    """One session against another; any order, the sign is that of ``after`` less ``before``."""
    found = [
        _changed(one, before, after, retest.of(one.key))
        for one in series
        if usable(one.measures[before]) and usable(one.measures[after])
    ]
    why = comparison_why(analyses[before], analyses[after], retest)
    changes, overall = judged(found, retest, why)
    if "patients_differ" in why:
        changes = tuple(replace(c, direction="cannot_tell", p_adjusted=None) for c in changes)
    return Comparison(
        before=before,
        after=after,
        changes=changes,
        unmatched=unmatched(series, before, after),
        overall=overall,
        why=why,
        differing=differing_conditions(analyses[before], analyses[after]),
    )


def _changed(one: Series, before: int, after: int, retest: Retest | None) -> Change:
    first, second = one.measures[before], one.measures[after]
    if first is None or second is None:
        raise ValueError(f"{one.key.name} is not in both sessions")
    return change(one.key, first, second, retest, later=after > before, trial=one.trial)


def judged(
    changes: Sequence[Change], retest: RetestSet, why: tuple[str, ...] = ()
) -> tuple[tuple[Change, ...], Overall]:
    """The changes with adjusted p values, and the judgement of all of them together.

    A measure enters when it is one of the tested ones and its retest variability may decide.
    """
    places = [i for i, one in enumerate(changes) if is_tested(one.key) and one.decides]
    entering = [changes[i] for i in places]
    known = [one.retest for one in entering if one.retest is not None]
    p = [one.p if one.p is not None else 1.0 for one in entering]
    adjusted = adjust(p, retest.between(known))
    filled = list(changes)
    for place, value in zip(places, adjusted.p, strict=True):
        filled[place] = _with_adjusted(changes[place], value, adjusted.first_level)
    return tuple(filled), _overall(adjusted, changes, why)


def _with_adjusted(one: Change, p: float, level: float) -> Change:
    if one.error is None or one.degrees is None:
        return one
    smallest = (quantile(level, one.degrees) + POWER_QUANTILE) * one.error
    return replace(one, p_adjusted=p, smallest=smallest)


def _overall(adjusted: Adjusted, changes: Sequence[Change], why: tuple[str, ...]) -> Overall:
    count = len(adjusted.p)
    if not count:
        lacking = "nothing_comparable" if not changes else "no_deciding_retest"
        return Overall("cannot_tell", 0, adjusted.method, adjusted.first_level, (lacking,))
    stopping = tuple(code for code in why if code in ("settings_differ", "patients_differ"))
    verdict: Verdict = "real_change" if min(adjusted.p) < LEVEL else "no_real_change"
    if stopping:
        verdict = "cannot_tell"
    return Overall(verdict, count, adjusted.method, adjusted.first_level, stopping)


def comparison_why(before: Analysis, after: Analysis, retest: RetestSet) -> tuple[str, ...]:
    """What speaks against comparing two sessions as they stand."""
    one, other = before.provenance, after.provenance
    own = retest.settings_digest
    checks = (
        ("settings_differ", one.settings_digest != other.settings_digest),
        ("version_differs", one.version != other.version),
        ("retest_settings_differ", bool(own) and own != other.settings_digest),
        ("retest_version_differs", bool(retest.version) and retest.version != other.version),
        ("patients_differ", before.patient.code != after.patient.code),
        ("conditions_differ", bool(differing_conditions(before, after))),
    )
    return tuple(code for code, holds in checks if holds)


def differing_conditions(before: Analysis, after: Analysis) -> tuple[str, ...]:
    """The conditions of the test that two sessions do not share."""
    return tuple(
        name for name in CONDITIONS if before.conditions.get(name) != after.conditions.get(name)
    )
