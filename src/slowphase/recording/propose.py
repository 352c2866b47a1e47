"""Propose a column map for a trace file, with a confidence and the reasons for every column."""

import json
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from slowphase.foundation.arrays import FloatArray
from slowphase.foundation.errors import InputError
from slowphase.recording.column_content import (
    Answer,
    answer_to,
    bin_medians,
    bin_velocity,
    clock_guess,
    is_counter,
    smoothness,
)
from slowphase.recording.column_names import NameGuess, guess_from_name
from slowphase.recording.guess_unit import guess_angle_unit, guess_head_unit
from slowphase.recording.lost import without_huge
from slowphase.recording.match import header_too_short, unit_of_header, unread_unit
from slowphase.recording.readers.layout import Fault, Layout, TraceTable
from slowphase.recording.readers.parquet_table import read_parquet_table
from slowphase.recording.readers.sniff import sniff
from slowphase.recording.readers.text_table import read_text_table
from slowphase.recording.units import units

SURE = 0.75
_MAX_COLUMNS = 200


@dataclass(frozen=True, slots=True)
class ProposedColumn:
    """One column and the role proposed for it; ``confidence`` is that of its weakest part.

    ``name`` is a number (from 1) where the file has no header. ``unit`` is None for channels that
    need none. Below ``SURE`` the column is marked "check".
    """

    role: str
    name: str | int
    unit: str | None
    positive: str | None
    confidence: float
    reasons: tuple[str, ...]

    @property
    def check(self) -> bool:
        """Whether a person should look before using this."""
        return self.confidence < SURE


@dataclass(frozen=True, slots=True)
class ColumnProposal:
    """The proposed column map of one file; ``unused`` names the columns without a role."""

    file: str
    columns: tuple[ProposedColumn, ...]
    unused: tuple[str | int, ...]
    sampling_hz: float | None = None

    def to_toml(self) -> str:
        """The ``[columns]`` table to paste into session.toml, reasons as comments."""
        lines = ["[columns]"]
        for column in self.columns:
            mark = "check: " if column.check else ""
            lines.append(f"# {column.confidence:.2f} {mark}{'; '.join(column.reasons)}")
            lines.append(_entry(column))
        if not any(column.role == "time" for column in self.columns):
            lines.append("# no clock was found: put sampling_hz = … at the top of session.toml")
        if self.unused:
            lines.append("# not used: " + ", ".join(_quoted(name) for name in self.unused))
        return "\n".join(lines) + "\n"


def propose_columns(path: str | Path) -> ColumnProposal:
    """Propose the column map of one trace file from names and content.

    Raises InputError when the file holds no table of numbers.
    """
    path = Path(path)
    layout, table = _open(path)
    numeric = _numeric_columns(layout, table)
    time = _propose_time(layout, numeric)
    named = {place: guess_from_name(_header(layout, place)) for place in numeric}
    time_s = _seconds(numeric, time)
    motion = _Motion(layout, numeric, named, time_s, None if time is None else time[0])
    columns = ([time[1]] if time else []) + _propose_channels(motion)
    used = {column.name for column in columns}
    names = [_name(layout, place) for place in range(layout.n_columns)]
    return ColumnProposal(path.name, tuple(columns), tuple(n for n in names if n not in used))


@dataclass(frozen=True, slots=True)
class _Motion:
    """The numeric columns of a file on its clock (None without one)."""

    layout: Layout
    values: dict[int, FloatArray]
    named: dict[int, NameGuess]
    time_s: FloatArray | None
    time_place: int | None


@dataclass(frozen=True, slots=True)
class _HeadGuess:
    place: int
    column: ProposedColumn
    velocity: FloatArray | None


def _open(path: Path) -> tuple[Layout, TraceTable]:
    layout = sniff(path)
    if isinstance(layout, Fault):
        raise InputError([layout.problem(file=path.name, trial=None)])
    if layout.unnamed:
        raise InputError([header_too_short(layout).problem(file=path.name, trial=None)])
    wanted = range(min(layout.n_columns, _MAX_COLUMNS))
    table = (
        read_parquet_table(path, layout, wanted)
        if layout.is_parquet
        else read_text_table(path, layout, wanted, clock=0, coded=())
    )
    if isinstance(table, Fault):
        raise InputError([table.problem(file=path.name, trial=None)])
    return layout, table


def _numeric_columns(layout: Layout, table: TraceTable) -> dict[int, FloatArray]:
    """Columns with numbers; a column with many words or nothing at all is none."""
    wordy = {cell.column for cell in table.text_cells}
    return {
        place: values
        for place, values in ((p, without_huge(v)) for p, v in table.columns.items())
        if place not in wordy and values.size and bool(np.isfinite(values).any())
    }


def _propose_time(
    layout: Layout, numeric: dict[int, FloatArray]
) -> tuple[int, ProposedColumn] | None:
    found = []
    for place, values in numeric.items():
        guess, name = clock_guess(values), guess_from_name(_header(layout, place))
        if guess is None or name.family == "counter" or (not name.family and is_counter(values)):
            continue
        if name.family not in ("", "time"):
            continue
        said = unit_of_header(place, layout)
        unit = said.name if said is not None and said.quantity == "time" else guess.unit
        confidence = 0.4 + 0.3 * guess.evenness + (0.27 if name.family == "time" else 0.0)
        confidence -= 0.3 if unit != guess.unit else 0.0
        confidence = min(confidence, 0.6 if guess.rate_hz < 25 else 1.0)
        reasons: tuple[str, ...] = (
            f"rises by one step a row, {guess.rate_hz:.1f} Hz if in {guess.unit}",
        )
        reasons += ("named like a clock",) if name.family == "time" else ()
        column = ProposedColumn(
            "time", _name(layout, place), unit, None, round(confidence, 2), reasons
        )
        found.append((place, _doubting_unread_unit(column, place, layout)))
    return max(found, key=lambda pair: pair[1].confidence, default=None)


def _doubting_unread_unit(column: ProposedColumn, place: int, layout: Layout) -> ProposedColumn:
    """A unit in the header that is not known makes any other unit a guess."""
    unread = unread_unit(place, layout)
    if unread is None or column.unit is None:
        return column
    return _less_sure(column, 0.3, f'the file says "{unread}", which is no unit known here')


def _seconds(
    numeric: dict[int, FloatArray], time: tuple[int, ProposedColumn] | None
) -> FloatArray | None:
    """The clock in s, or None where it does not rise throughout."""
    if time is None or time[1].unit is None:
        return None
    stamps: FloatArray = numeric[time[0]] * units()[time[1].unit].factor
    rising = bool((stamps[1:] > stamps[:-1]).all())
    return stamps if rising else None


def _propose_channels(motion: _Motion) -> list[ProposedColumn]:
    head = _propose_head(motion)
    columns = [] if head is None else [head.column]
    taken = {column.role for column in columns}
    answers: list[Answer] = []
    for place, name in motion.named.items():
        if place == motion.time_place or (head is not None and place == head.place):
            continue
        column, answer = _propose_channel(motion, place, name, head)
        if column is not None and column.role not in taken:
            taken.add(column.role)
            columns.append(column)
            answers += [answer] if answer else []
    return _with_head_sign(columns, answers)


def _propose_head(motion: _Motion) -> _HeadGuess | None:
    named = [
        place
        for place, name in motion.named.items()
        if name.family == "head" and name.axis in ("", "h")
    ]
    by_name = sorted(named, key=lambda place: motion.named[place].motion != "velocity")
    if by_name:
        return _head_at(motion, by_name[0], 0.9, ("named like the chair or head",))
    rest = [
        place
        for place, name in motion.named.items()
        if not name.family and place != motion.time_place and not is_counter(motion.values[place])
    ]
    smooth = {place: smoothness(motion.values[place]) for place in rest}
    best = max(smooth, key=lambda place: smooth[place], default=None)
    if best is None or smooth[best] < 0.99:
        return None
    return _head_at(motion, best, 0.45, ("smooth as a chair, but not named like one",))


def _head_at(
    motion: _Motion, place: int, confidence: float, reasons: tuple[str, ...]
) -> _HeadGuess:
    name, values = motion.named[place], motion.values[place]
    said = unit_of_header(place, motion.layout)
    unit, kind, sure, why = guess_head_unit(values, said, name.motion)
    role = "head_position" if kind == "angle" else "head_velocity"
    column = ProposedColumn(
        role,
        _name(motion.layout, place),
        unit,
        None,
        min(confidence, sure),
        (*reasons, why),
    )
    column = _doubting_unread_unit(column, place, motion.layout)
    velocity = None
    if motion.time_s is not None:
        factor = units()[unit].factor or 1.0
        binned = bin_velocity if kind == "angle" else bin_medians
        velocity = binned(motion.time_s, values * factor)
    return _HeadGuess(place, column, velocity)


def _propose_channel(
    motion: _Motion, place: int, name: NameGuess, head: _HeadGuess | None
) -> tuple[ProposedColumn | None, Answer | None]:
    if name.family == "eye" and name.motion != "velocity" and name.axis:
        return _propose_eye(motion, place, name, head)
    role = _passed_role(name)
    if role is None:
        return None, None
    reasons = (f"named like the {name.family}",)
    return ProposedColumn(role, _name(motion.layout, place), None, None, 0.8, reasons), None


def _passed_role(name: NameGuess) -> str | None:
    if name.family == "pupil" and name.side:
        return f"pupil_{name.side}"
    if name.family == "target":
        return f"target_{name.axis}" if name.axis in ("h", "v") else "target_h"
    return name.family if name.family in ("marker", "emg") else None


def _propose_eye(
    motion: _Motion, place: int, name: NameGuess, head: _HeadGuess | None
) -> tuple[ProposedColumn, Answer | None]:
    values = motion.values[place]
    side = name.side or "right"
    unit, sure, why = _eye_unit(motion, place, name)
    axis = {"h": "horizontal", "v": "vertical", "t": "torsional"}[name.axis]
    column = ProposedColumn(
        role=f"eye_{name.axis}_{side}",
        name=_name(motion.layout, place),
        unit=unit,
        positive=None,
        confidence=min(0.9 if name.side else 0.4, sure),
        reasons=(
            f"named like the {axis} {side} eye" if name.side else f"{axis} eye, side not named",
            why,
        ),
    )
    column = _doubting_unread_unit(column, place, motion.layout)
    if name.axis != "h" or head is None or head.velocity is None or motion.time_s is None:
        return column, None
    eye = bin_velocity(motion.time_s, values * (units()[unit].factor or 1.0))
    return _judged(column, answer_to(head.velocity, eye))


def _eye_unit(motion: _Motion, place: int, name: NameGuess) -> tuple[str, float, str]:
    """The unit of an eye column; a channel that hardly moves has that of a horizontal one."""
    said = unit_of_header(place, motion.layout)
    unit, sure, why = guess_angle_unit(motion.values[place], said)
    if sure >= 0.5 or name.axis == "h":
        return unit, sure, why
    beside = [p for p, other in motion.named.items() if (other.family, other.axis) == ("eye", "h")]
    for other in beside:
        unit_h, sure_h, _ = guess_angle_unit(
            motion.values[other], unit_of_header(other, motion.layout)
        )
        if sure_h > sure:
            return unit_h, 0.6, f"hardly moves; {unit_h} as the horizontal channel beside it"
    return unit, sure, why


def _judged(column: ProposedColumn, answer: Answer | None) -> tuple[ProposedColumn, Answer | None]:
    """The column with what the eye's answer to the head says of sign and unit."""
    if answer is None or abs(answer.correlation) < 0.4:
        reason = "does not follow the head, so its sign cannot be told"
        return _less_sure(column, 0.6, reason), None
    if column.unit == "deg" and not 0.03 <= abs(answer.gain) <= 1.5:
        reason = f"a gain of {abs(answer.gain):.2g} makes the unit doubtful"
        column = _less_sure(column, 0.3, reason)
    if answer.correlation > 0:
        reason = "moves with the head: one of them has the other sign"
        return _less_sure(column, 0.4, reason), answer
    reason = f"moves against the head (gain {answer.gain:.2f})"
    return replace(column, reasons=(*column.reasons, reason)), answer


def _less_sure(column: ProposedColumn, confidence: float, reason: str) -> ProposedColumn:
    return replace(
        column,
        confidence=min(column.confidence, confidence),
        reasons=(*column.reasons, reason),
    )


def _with_head_sign(columns: list[ProposedColumn], answers: list[Answer]) -> list[ProposedColumn]:
    """Where every eye moves with the head, the head is the one to turn: one change, not two."""
    if not answers or not all(answer.correlation > 0 for answer in answers):
        return columns
    reason = "every eye moves with it: turned here, but it may be the eyes that are mirrored"
    return [
        replace(_less_sure(column, 0.4, reason), positive="left")
        if column.role.startswith("head_")
        else column
        for column in columns
    ]


def _entry(column: ProposedColumn) -> str:
    parts = [f"name = {_quoted(column.name)}"]
    parts += [f'unit = "{column.unit}"'] if column.unit else []
    needs_scale = column.unit is not None and units()[column.unit].quantity == "uncalibrated"
    parts += ["scale = …"] if needs_scale else []
    parts += [f'positive = "{column.positive}"'] if column.positive else []
    line = f"{column.role:<13} = {{ {', '.join(parts)} }}"
    return f"# {line}  # fill in the scale in deg per {column.unit}" if needs_scale else line


def _quoted(name: str | int) -> str:
    return str(name) if isinstance(name, int) else json.dumps(name, ensure_ascii=False)


def _header(layout: Layout, place: int) -> str:
    return layout.names[place] if place < len(layout.names) else ""


def _name(layout: Layout, place: int) -> str | int:
    name = _header(layout, place)
    return name if name and layout.names.count(name) == 1 else place + 1
