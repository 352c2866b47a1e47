"""One trace file, opened once for all trials that use it."""

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np

from slowphase.foundation.arrays import BoolArray, FloatArray
from slowphase.recording.clock import Clock, even_clock, make_clock
from slowphase.recording.columns import PASSED_ROLES, Column
from slowphase.recording.lost import without_huge
from slowphase.recording.match import find_column, unit_fault
from slowphase.recording.plan import TrialPlan
from slowphase.recording.readers.layout import Fault, Layout, TraceTable
from slowphase.recording.readers.parquet_table import read_parquet_table
from slowphase.recording.readers.sniff import sniff
from slowphase.recording.readers.text_table import read_text_table

ColumnMap = Mapping[str, Column]


@dataclass(frozen=True, slots=True)
class Matched:
    """Where the columns of a trial stand in its file, and those that do not."""

    places: Mapping[str, int]
    faults: Mapping[str, Fault]


@dataclass(frozen=True, slots=True)
class TraceFile:
    """The layout of a file, the columns that its trials need, and the digest of its bytes."""

    layout: Layout
    table: TraceTable
    sha256: bytes
    clocks: dict[tuple[int, float], Clock | None] = field(default_factory=dict)

    def clock(self, column: Column, place: int) -> Clock | None:
        """The clock that a time column tells, made once."""
        key = (place, column.slope)
        if key not in self.clocks:
            stamps: FloatArray = self.table.columns[place] * self._slope(column)
            stamps += column.intercept
            self.clocks[key] = make_clock(stamps, self._repeats_row(place, stamps))
        return self.clocks[key]

    def _slope(self, column: Column) -> float:
        return 1.0 if self.table.clock_from_text else column.slope

    def _repeats_row(self, clock: int, stamps: FloatArray) -> BoolArray | None:
        """Which rows say what the row before says; asked only where a stamp repeats."""
        channels = [values for place, values in self.table.columns.items() if place != clock]
        if not channels or not bool(np.any(stamps[1:] == stamps[:-1])):
            return None
        same = np.ones(len(stamps), dtype=np.bool_)
        same[:1] = False
        for values in channels:
            lost = np.isnan(values)
            same[1:] &= (values[1:] == values[:-1]) | (lost[1:] & lost[:-1])
        return same

    def even_clock(self, sampling_hz: float) -> Clock:
        """The clock of a file without time stamps."""
        return even_clock(self.table.n_rows, sampling_hz)


def open_trace(path: Path, trials: Sequence[TrialPlan]) -> TraceFile | Fault:
    """Read the columns that the trials of one file need."""
    layout = sniff(path)
    if isinstance(layout, Fault):
        return layout
    matches = [match_columns(trial.columns, layout) for trial in trials]
    wanted = sorted({place for matched in matches for place in matched.places.values()})
    if not wanted:
        return TraceFile(layout, TraceTable({}, 0), _sha256(path))
    table = _read(path, layout, wanted, matches)
    if isinstance(table, Fault):
        return table
    columns = {place: without_huge(values) for place, values in table.columns.items()}
    return TraceFile(layout, replace(table, columns=columns), _sha256(path))


def match_columns(columns: ColumnMap, layout: Layout) -> Matched:
    """The place of every column of a map in a file."""
    places: dict[str, int] = {}
    faults: dict[str, Fault] = {}
    for role, column in columns.items():
        found = find_column(column, layout)
        if isinstance(found, int):
            found = unit_fault(column, found, layout) or found
        if isinstance(found, int) and role not in PASSED_ROLES:
            found = _shared(found, role, places) or found
        if isinstance(found, Fault):
            faults[role] = found
        else:
            places[role] = found
    return Matched(places, faults)


def _shared(place: int, role: str, places: Mapping[str, int]) -> Fault | None:
    """The fault of a column that an earlier role has: one trace cannot be two."""
    others = [other for other, taken in places.items() if taken == place]
    if not others or others[0] in PASSED_ROLES:
        return None
    return Fault(
        "shared_column",
        f"column {place + 1} is mapped as {others[0]} and as {role}",
        expected="a column of its own for every role",
        remedy=f"correct one of them in [columns]; it was used as {others[0]} only",
        found=f"column {place + 1}",
    )


def _read(
    path: Path, layout: Layout, wanted: Sequence[int], matches: Sequence[Matched]
) -> TraceTable | Fault:
    if layout.is_parquet:
        return read_parquet_table(path, layout, wanted)
    clock = next((m.places["time"] for m in matches if "time" in m.places), None)
    coded = tuple({m.places["marker"] for m in matches if "marker" in m.places})
    return read_text_table(path, layout, wanted, clock=clock, coded=coded)


def _sha256(path: Path) -> bytes:
    with path.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").digest()
