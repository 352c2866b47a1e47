"""The same measure through all sessions, and what could not be matched, with the reason."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from slowphase.course.followed import entry_of, rank
from slowphase.course.key import Key, alike, keyed, same_but_stimulus

if TYPE_CHECKING:
    from slowphase.analysis.result import Analysis
    from slowphase.measures.measure import Measure


@dataclass(frozen=True, slots=True)
class Series:
    """One measure, by session in order of date; None where a session does not hold it.

    ``trial`` is set where one session holds the measure several times, so that only the trial's
    id told which belongs to which.
    """

    key: Key
    measures: tuple[Measure | None, ...]
    trial: str | None = None


@dataclass(frozen=True, slots=True)
class Unmatched:
    """One measure that two sessions cannot be compared in.

    ``reason`` is ``only_before``, ``only_after``, ``other_stimulus``, ``no_value``,
    ``several_alike`` (of ``words.toml``); ``detail`` says more: the other stimulus, the reasons.
    """

    key: Key
    reason: str
    detail: str = ""


Found = tuple[int, str, "Measure"]


def series_of(analyses: Sequence[Analysis]) -> tuple[Series, ...]:
    """Every followed measure of the sessions, in the order in which it is shown."""
    groups: list[tuple[Key, list[Found]]] = []
    for session, analysis in enumerate(analyses):
        for key, trial, measure in keyed(analysis):
            if entry_of(key) is not None:
                _place(groups, key, (session, trial, measure))
    made = [one for key, found in groups for one in _split(key, found, len(analyses))]
    return tuple(sorted(made, key=lambda one: (*rank(one.key), one.trial or "")))


def _place(groups: list[tuple[Key, list[Found]]], key: Key, found: Found) -> None:
    for known, members in groups:
        if alike(known, key):
            members.append(found)
            return
    groups.append((key, [found]))


def _split(key: Key, found: list[Found], count: int) -> Iterable[Series]:
    """One series; one for each trial's id where a session holds several alike."""
    if len({session for session, _, _ in found}) == len(found):
        yield Series(key, _by_session(found, count))
        return
    for trial in dict.fromkeys(trial for _, trial, _ in found):
        own = [one for one in found if one[1] == trial]
        yield Series(key, _by_session(own, count), trial)


def _by_session(found: Iterable[Found], count: int) -> tuple[Measure | None, ...]:
    measures = {session: measure for session, _, measure in found}
    return tuple(measures.get(session) for session in range(count))


def usable(measure: Measure | None) -> bool:
    """Whether a measure has a value that may be used."""
    return measure is not None and measure.value is not None and measure.grade != "unusable"


def unmatched(series: Sequence[Series], before: int, after: int) -> tuple[Unmatched, ...]:
    """What two sessions cannot be compared in, each with its reason."""
    found = (_why_unmatched(one, series, before, after) for one in series)
    return tuple(one for one in found if one is not None)


def _why_unmatched(
    one: Series, series: Sequence[Series], before: int, after: int
) -> Unmatched | None:
    first, second = one.measures[before], one.measures[after]
    if (first is None and second is None) or (usable(first) and usable(second)):
        return None
    if first is not None and second is not None:
        missing = second if usable(first) else first
        return Unmatched(one.key, "no_value", ", ".join(missing.why))
    present, absent = (before, after) if second is None else (after, before)
    if one.trial is not None:
        return Unmatched(one.key, "several_alike", one.trial)
    other = _other_stimulus(one, series, present, absent)
    if other is not None:
        return Unmatched(one.key, "other_stimulus", _stimulus_words(other))
    return Unmatched(one.key, "only_before" if present == before else "only_after")


def _other_stimulus(one: Series, series: Sequence[Series], present: int, absent: int) -> Key | None:
    """The key that took its place in the other session, where exactly one did."""
    others = [
        s.key
        for s in series
        if same_but_stimulus(s.key, one.key)
        and s.measures[present] is None
        and s.measures[absent] is not None
    ]
    return others[0] if len(others) == 1 else None


def _stimulus_words(key: Key) -> str:
    return ", ".join(
        f"{name} = {value:g}" if isinstance(value, float) else f"{name} = {value}"
        for name, value in key.stimulus
    )
