"""Repeated trials: the first one carries the combination, each repeat stays as it was."""

from collections import defaultdict
from dataclasses import replace

from slowphase.foundation.reasons import worst_grade
from slowphase.measures.measure import Measure
from slowphase.measures.pooling import combined
from slowphase.measures.result import Quality, TrialResult
from slowphase.recording.trial import Trial

COMBINED = "combined_repeats"


def with_repeats(
    trials: tuple[Trial, ...], results: tuple[TrialResult, ...]
) -> tuple[TrialResult, ...]:
    """Results in which the first of each set of repeats holds their combination.

    Measures with intervals are combined by inverse variance; counts stay those of the first.
    Sets ``combined_repeats``, and ``repeats_disagree`` where one of them surely does.
    """
    groups: dict[str, list[TrialResult]] = defaultdict(list)
    for trial, result in zip(trials, results, strict=True):
        if trial.repeat_of is not None and result.measures:
            groups[trial.repeat_of].append(result)
    return tuple(
        combine(result, groups[result.id]) if groups.get(result.id) else result
        for result in results
    )


def combine(first: TrialResult, repeats: list[TrialResult]) -> TrialResult:
    """The first trial with every measure combined over the repeats."""
    if not first.measures:
        return first
    tables = [{_place(m): m for m in trial.measures} for trial in (first, *repeats)]
    measures = tuple(
        _combined([table[_place(m)] for table in tables if _place(m) in table])
        for m in first.measures
    )
    parts = (*first.parts, *(part for trial in repeats for part in trial.parts))
    return replace(first, measures=measures, parts=parts, quality=_marked(first.quality, measures))


def _marked(quality: Quality | None, measures: tuple[Measure, ...]) -> Quality | None:
    """The trial's quality with the note that repeats went into its measures, or disagree there."""
    if quality is None:
        return None
    apart = any("repeats_disagree" in measure.why for measure in measures)
    why = (*quality.why, COMBINED, *(("repeats_disagree",) if apart else ()))
    return replace(quality, why=why, grade=worst_grade(why))


def _place(measure: Measure) -> tuple[str | None, str]:
    return measure.of, measure.name


def _combined(measures: list[Measure]) -> Measure:
    estimated = [m for m in measures if m.low is not None and m.high is not None and m.low < m.high]
    if len(estimated) < 2:
        known = next((m for m in measures if m.value is not None), measures[0])
        return replace(known, id=measures[0].id)
    joined = combined(estimated)
    return replace(joined, id=measures[0].id)


def firsts(results: tuple[TrialResult, ...]) -> tuple[TrialResult, ...]:
    """The results without the repeats whose measures stand in an earlier trial's already."""
    repeats = {part for result in results for part in result.parts if part != result.id}
    return tuple(result for result in results if result.id not in repeats)
