"""The tests beside the chair as text: one table for each trial or group, R beside L."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from slowphase.reading.cautions import kind_cautions
from slowphase.reading.words import unit_words
from slowphase.report.kind_brief import brief
from slowphase.report.labels import measure_name, stimulus_text, word
from slowphase.report.terminal_parts import cell, heading, plain, table

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from rich.console import RenderableType
    from rich.table import Table

    from slowphase.measures.measure import Measure
    from slowphase.measures.result import GroupResult, TrialResult

COLUMNS = ("", "R", "L", "whole")
SIDES = ("right", "left")


def battery_groups(groups: Iterable[GroupResult]) -> Iterator[RenderableType]:
    """What all trials of one test say together."""
    for group in groups:
        yield heading(f"{word('group', group.kind)} ({', '.join(group.trials)})")
        for text in kind_cautions(group.kind):
            yield plain(text, style="dim")
        yield sided_table(sided_rows(group.measures))


def battery_trials(trials: Iterable[TrialResult]) -> Iterator[RenderableType]:
    """Trials of kinds without a table of their own, with everything that was measured."""
    for trial in trials:
        told = ", ".join(part for part in (word("kind", trial.kind), stimulus_text(trial)) if part)
        yield heading(f"{trial.id}: {told}")
        rows = sided_rows(brief(trial))
        yield sided_table(rows) if rows else plain("not measured")


def sided_table(rows: list[list[str]]) -> Table:
    """The rows as a table, without the columns of the sides where nothing has one."""
    if any(right or left for _, right, left, _ in rows):
        return table(COLUMNS, rows, left=1)
    return table(("", "value"), [[row[0], row[-1]] for row in rows], left=1)


def sided_rows(measures: Iterable[Measure]) -> list[list[str]]:
    """One row for each measure and part: label with unit, R, L, and what belongs to no side."""
    found: dict[tuple[str, str], dict[str, Measure]] = {}
    for measure in measures:
        side, part = side_and_part(measure.of)
        found.setdefault((measure.name, part), {})[side] = measure
    return [_row(part, by_side) for (_, part), by_side in found.items()]


def side_and_part(of: str | None) -> tuple[str, str]:
    """``right lateral`` is the side ``right`` and the part ``lateral``; without a side, ``""``.

    So is ``right/horizontal``; ``rightward`` is the side ``right``.
    """
    found = re.fullmatch(r"(right|left)(?:ward|[ /])?(.*)", of or "")
    return (found[1], found[2]) if found else ("", of or "")


def _row(part: str, by_side: dict[str, Measure]) -> list[str]:
    any_side = next(iter(by_side.values()))
    name = measure_name(any_side.name, any_side.definition)
    parts = [name, *([word("part", part)] if part and part != "ear" else [])]
    if any((measure.of or "").endswith("tward") for measure in by_side.values()):
        parts.append("by direction")
    label = f"{', '.join(parts)} {unit_words(any_side.unit)}".strip()
    return [label, *(cell(by_side[side]) if side in by_side else "" for side in (*SIDES, ""))]
