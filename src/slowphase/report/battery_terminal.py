"""The tests beside the chair as text: one table for each trial or group, R beside L."""

from __future__ import annotations

from typing import TYPE_CHECKING

from slowphase.reading.cautions import kind_cautions
from slowphase.reading.words import unit_words
from slowphase.report.kind_brief import brief
from slowphase.report.labels import measure_name, stimulus_text, word
from slowphase.report.terminal_parts import cell, heading, plain, table

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from rich.console import RenderableType

    from slowphase.measures.measure import Measure
    from slowphase.measures.result import GroupResult, TrialResult

COLUMNS = ("", "R", "L", "")
SIDES = ("right", "left")


def battery_groups(groups: Iterable[GroupResult]) -> Iterator[RenderableType]:
    """What all trials of one test say together."""
    for group in groups:
        yield heading(f"{word('group', group.kind)} ({', '.join(group.trials)})")
        for text in kind_cautions(group.kind):
            yield plain(text, style="dim")
        yield table(COLUMNS, sided_rows(group.measures), left=1)


def battery_trials(trials: Iterable[TrialResult]) -> Iterator[RenderableType]:
    """Trials of kinds without a table of their own, with everything that was measured."""
    for trial in trials:
        told = ", ".join(part for part in (word("kind", trial.kind), stimulus_text(trial)) if part)
        yield heading(f"{trial.id}: {told}")
        rows = sided_rows(brief(trial))
        yield table(COLUMNS, rows, left=1) if rows else plain("not measured")


def sided_rows(measures: Iterable[Measure]) -> list[list[str]]:
    """One row for each measure and part: label with unit, R, L, and what belongs to no side."""
    found: dict[tuple[str, str], dict[str, Measure]] = {}
    for measure in measures:
        side, part = side_and_part(measure.of)
        found.setdefault((measure.name, part), {})[side] = measure
    return [_row(part, by_side) for (_, part), by_side in found.items()]


def side_and_part(of: str | None) -> tuple[str, str]:
    """``right lateral`` is the side ``right`` and the part ``lateral``; without a side, ``""``."""
    first, _, rest = (of or "").partition(" ")
    return (first, rest) if first in SIDES else ("", of or "")


def _row(part: str, by_side: dict[str, Measure]) -> list[str]:
    any_side = next(iter(by_side.values()))
    name = measure_name(any_side.name, any_side.definition)
    parts = [name, *([word("of", part)] if part and part != "ear" else [])]
    label = f"{', '.join(parts)} {unit_words(any_side.unit)}".strip()
    return [label, *(cell(by_side[side]) if side in by_side else "" for side in (*SIDES, ""))]
