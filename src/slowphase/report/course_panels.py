"""What each panel of the course picture shows: series that belong together."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from slowphase.course.followed import LETTERS, entry_of, part_words
from slowphase.course.series import usable
from slowphase.reading.words import unit_words

if TYPE_CHECKING:
    from collections.abc import Iterator

    from slowphase.course.key import Key
    from slowphase.course.retest import Retest
    from slowphase.course.series import Series
    from slowphase.course.timeline import Course
    from slowphase.reference.placement import Placement


@dataclass(frozen=True, slots=True)
class Line:
    """One series in a panel: its name there (empty where it stands alone) and its retests."""

    series: Series
    name: str
    retest: Retest | None


@dataclass(frozen=True, slots=True)
class Panel:
    """One panel: what it is called, its lines, and where the healthy are."""

    title: str
    unit: str
    lines: tuple[Line, ...]
    healthy: Placement | None


def panels(course: Course) -> tuple[Panel, ...]:
    """The panels of a course in their order; a series of fewer than two values is left out."""
    groups: dict[str, list[Series]] = {}
    for series in _drawn(course):
        groups.setdefault(_title(series.key), []).append(series)
    return tuple(_panel(title, found, course) for title, found in groups.items())


def _drawn(course: Course) -> Iterator[Series]:
    known = [s for s in course.series if sum(usable(m) for m in s.measures) >= 2]
    for series in known:
        entry = entry_of(series.key)
        if entry is None or entry.panel is None:
            continue
        peers = [s.key.number("frequency_hz") or 0.0 for s in known if entry_of(s.key) == entry]
        lowest = (series.key.number("frequency_hz") or 0.0) <= min(peers)
        if entry.panel == "each" or lowest:
            yield series


def _title(key: Key) -> str:
    entry = entry_of(key)
    frequency = key.number("frequency_hz")
    part = "" if key.of is None or key.exciting or (entry and entry.of) else part_words(key.of)
    parts = (
        entry.short if entry else key.name,
        f"{frequency:g} Hz" if frequency is not None else "",
        f"exciting {LETTERS[key.exciting]}" if key.exciting else "",
        part,
    )
    unit = unit_words(key.unit)
    return ", ".join(p for p in parts if p) + (f" ({unit})" if unit else "")


def _panel(title: str, found: list[Series], course: Course) -> Panel:
    lines = tuple(
        Line(series, _line_name(series, found), course.retest.of(series.key)) for series in found
    )
    return Panel(title, found[0].key.unit, lines, _healthy(found, course))


def _line_name(series: Series, found: list[Series]) -> str:
    if len(found) == 1:
        return ""
    return series.trial or series.key.of or ""


def _healthy(found: list[Series], course: Course) -> Placement | None:
    """Where the healthy are at the last session that has a reference for the measure."""
    placed = [
        analysis.placements.get(measure.id)
        for series in found
        for analysis, measure in zip(course.analyses, series.measures, strict=True)
        if measure is not None
    ]
    return next((p for p in reversed(placed) if p is not None), None)
