"""The clinic's own retest variability from pairs of sessions of stable people.

Sessions are paired by the patient's code, the first two by date. Nothing is dropped: what cannot
be paired, and a measure that too few pairs hold, is named.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from slowphase.course.change import difference, standard_error
from slowphase.course.followed import label, rank
from slowphase.course.key import Key, alike
from slowphase.course.reliability import (
    bias_slope,
    icc_agreement,
    shrunk_correlation,
    spread_slope,
)
from slowphase.course.retest import Retest, RetestSet
from slowphase.course.series import series_of, usable
from slowphase.foundation.arrays import FloatArray
from slowphase.foundation.errors import InputError
from slowphase.foundation.problem import Problem
from slowphase.recording.report_problem import make_problem

if TYPE_CHECKING:
    from slowphase.analysis.result import Analysis
    from slowphase.measures.interval import Estimate
    from slowphase.measures.measure import Measure

LEAST_PAIRS = 10  # of a measure for an entry: with fewer, t more than doubles the limit's doubt
Pair = tuple["Analysis", "Analysis"]


@dataclass(frozen=True, slots=True)
class Built:
    """What was built, what was left out and why, and how many days lay between."""

    retest: RetestSet
    problems: tuple[Problem, ...] = ()
    left_out: tuple[str, ...] = ()


@dataclass(slots=True)
class _Gathered:
    """The two measurements of one measure by pair."""

    key: Key
    pairs: dict[int, tuple[Measure, Measure]]


def build_retest(analyses: Iterable[Analysis], *, source: str) -> Built:
    """Retest variability of every followed measure that at least ``LEAST_PAIRS`` pairs hold.

    Raises ``InputError`` when there are too few pairs of sessions for any.
    """
    pairs, problems = paired(analyses)
    if len(pairs) < LEAST_PAIRS:
        raise InputError([*problems, _few_pairs(len(pairs))])
    gathered = sorted(_gather(pairs), key=lambda one: rank(one.key))
    left_out = {id(one): why for one in gathered if (why := _why_left_out(one))}
    kept = [one for one in gathered if id(one) not in left_out]
    if not kept:
        raise InputError([*problems, _few_pairs(max((len(g.pairs) for g in gathered), default=0))])
    entries = tuple(_entry(one, index, source) for index, one in enumerate(kept))
    provenance = pairs[0][0].provenance
    retest = RetestSet(
        source=source,
        entries=entries,
        correlation=_correlation(kept, len(pairs)),
        settings_digest=provenance.settings_digest,
        version=provenance.version,
        n_pairs=len(pairs),
        days_apart=_median_days(pairs),
    )
    named = (f"{label(g.key)} ({left_out[id(g)]})" for g in gathered if id(g) in left_out)
    return Built(retest, problems, tuple(named))


def _why_left_out(found: _Gathered) -> str:
    """Why a measure gets no entry; empty where it gets one."""
    if len(found.pairs) < LEAST_PAIRS:
        return f"{len(found.pairs)} pairs"
    values = _values(found)
    return "" if float(np.ptp(values[:, 1] - values[:, 0])) > 0.0 else "never differs"


def paired(analyses: Iterable[Analysis]) -> tuple[list[Pair], tuple[Problem, ...]]:
    """Pairs of sessions by the patient's code, and what could not be paired."""
    by_code: defaultdict[str, list[Analysis]] = defaultdict(list)
    problems: list[Problem] = []
    for analysis in analyses:
        if analysis.date is None or analysis.patient.code == "unknown":
            problems.append(_unnamed(analysis))
        else:
            by_code[analysis.patient.code].append(analysis)
    pairs: list[Pair] = []
    for code, found in by_code.items():
        found.sort(key=lambda one: str(one.date))
        if len(found) >= 2 and found[0].date != found[1].date:
            pairs.append((found[0], found[1]))
        if len(found) != 2 or found[0].date == found[1].date:
            problems.append(_not_two(code, len(found)))
    return pairs, tuple(problems)


def _unnamed(analysis: Analysis) -> Problem:
    return make_problem(
        "session_not_paired",
        f"a session of patient {analysis.patient.code}, date {analysis.date or 'unknown'}",
        expected="a patient code and a date",
        remedy="the session is left out",
        file=None,
    )


def _not_two(code: str, count: int) -> Problem:
    return make_problem(
        "session_not_paired",
        f"{count} session{'s' if count > 1 else ''} of patient {code}",
        expected="two sessions on two days",
        remedy="the first two days are used where there are two, and the rest is left out",
        file=None,
    )


def _few_pairs(count: int) -> Problem:
    return make_problem(
        "too_few_pairs",
        f"{count} pairs of sessions that hold the same measure",
        expected=f"{LEAST_PAIRS} pairs or more, better 30",
        remedy="test more stable people twice",
        file=None,
    )


def _gather(pairs: Sequence[Pair]) -> list[_Gathered]:
    """Every followed measure with the pairs in which both sessions have a usable value."""
    found: list[_Gathered] = []
    for number, pair in enumerate(pairs):
        for one in series_of(pair):
            first, second = one.measures
            if first is None or second is None or not (usable(first) and usable(second)):
                continue
            place = next((g for g in found if alike(g.key, one.key)), None)
            if place is None:
                place = _Gathered(one.key, {})
                found.append(place)
            place.pairs.setdefault(number, (first, second))
    return found


def _entry(found: _Gathered, index: int, source: str) -> Retest:
    values = _values(found)
    differences = values[:, 1] - values[:, 0]
    errors = [standard_error(m) for pair in found.pairs.values() for m in pair]
    known = [error**2 for error in errors if error is not None]
    return Retest(
        key=found.key,
        sd_difference=float(np.std(differences, ddof=1)),
        source=source,
        mark="local",
        effect=float(differences.mean()),
        n=len(found.pairs),
        measurement_error=float(np.mean(known)) ** 0.5 if len(known) == len(errors) else None,
        icc=_triple(icc_agreement(values)),
        bias_slope=_full(bias_slope(values)),
        spread_slope=_full(spread_slope(values)),
        index=index,
    )


def _values(found: _Gathered) -> FloatArray:
    """First and second measurement of each pair, shape (n, 2); phases by the shorter way."""
    rows = [
        (
            float(first.value or 0.0),
            float(first.value or 0.0) + difference(found.key, first, second),
        )
        for first, second in found.pairs.values()
    ]
    return np.array(rows)


def _triple(estimate: Estimate) -> tuple[float, float | None, float | None] | None:
    return None if estimate.value is None else (estimate.value, estimate.low, estimate.high)


def _full(estimate: Estimate) -> tuple[float, float, float] | None:
    if estimate.value is None or estimate.low is None or estimate.high is None:
        return None
    return estimate.value, estimate.low, estimate.high


def _correlation(kept: Sequence[_Gathered], count: int) -> FloatArray:
    table = np.full((count, len(kept)), np.nan)
    for column, found in enumerate(kept):
        values = _values(found)
        table[list(found.pairs), column] = values[:, 1] - values[:, 0]
    return shrunk_correlation(table)


def _median_days(pairs: Sequence[Pair]) -> float:
    days = [(b.date - a.date).days for a, b in pairs if a.date is not None and b.date is not None]
    return float(np.median(days))
