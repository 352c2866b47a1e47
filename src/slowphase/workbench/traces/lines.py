"""Every line that can be drawn of one trial: as recorded, in use, slow phase, chair, fit."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING, Any

import numpy as np

from slowphase.eye.trace import USED
from slowphase.workbench.traces.grid import Grid, on_grid, place

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from slowphase.eye.trace import EyeTrace
    from slowphase.foundation.arrays import FloatArray
    from slowphase.measures.result import Evidence, TrialResult
    from slowphase.recording.trial import Recording, Trial
    from slowphase.workbench.traces.pyramid import Samples

MEDIAN_S = 0.5
MEDIAN_CYCLES = 0.1
WHOLE = ("head", "fit", "median", "target")  # roles whose every value is to be inside the panel
SPARE_PCT = 0.2  # of the others' samples at either end
SAMPLED = 20_000  # values are enough to tell the limits of a panel


@dataclass(frozen=True, slots=True)
class Line:
    """One line: how it is told, and its samples."""

    told: Mapping[str, Any]
    samples: Samples


@dataclass(frozen=True, slots=True)
class Lines:
    """All lines of one trial on one grid, by their ids; empty without a recording."""

    grid: Grid
    lines: Mapping[str, Line]

    @property
    def nbytes(self) -> int:
        """About how much memory they take."""
        return sum(line.samples.low.nbytes for line in self.lines.values())


def lines_of(trial: Trial, result: TrialResult | None) -> Lines:
    """The lines of a trial as it was recorded, with what its measurement made of it.

    ``trial`` is in degrees, before anything was excluded, so that what is left out can be seen.
    """
    recording = trial.recording
    if recording is None or not recording.time_s.size:
        return Lines(Grid(0.0, 1.0, 0), {})
    placing = place(recording.time_s, recording.sampling_hz)
    found = {
        id_: Line(_told(id_, values, recording), on_grid(placing, values))
        for id_, values in _known_lines(trial, recording, result)
        if np.isfinite(values).any()
    }
    return Lines(placing.grid, {id_: found[id_] for id_ in channel_table() if id_ in found})


def _known_lines(
    trial: Trial, recording: Recording, result: TrialResult | None
) -> Iterator[tuple[str, FloatArray]]:
    """Each line in double precision, one at a time: all of a long trial would take much room."""
    yield from _recorded(recording)
    evidence = result.evidence if result else None
    if evidence is not None and evidence.horizontal.time_s.size == recording.time_s.size:
        yield from _measured(evidence, median_s(trial))


def _recorded(recording: Recording) -> Iterator[tuple[str, FloatArray]]:
    yield from recording.channels.items()
    if recording.head_velocity_deg_s is not None:
        yield "head", recording.head_velocity_deg_s


def _measured(evidence: Evidence, stretch_s: float) -> Iterator[tuple[str, FloatArray]]:
    for trace, end in ((evidence.horizontal, ""), (evidence.vertical, "_v")):
        if trace is not None:
            slow = slow_phase(trace)
            yield f"position{end}", trace.position_deg
            yield f"slow{end}", slow
            yield f"median{end}", running_medians(trace.time_s, slow, stretch_s)
    if evidence.head_velocity_deg_s is not None:
        yield "head", evidence.head_velocity_deg_s
    if evidence.fit_deg_s is not None:
        yield "fit", evidence.fit_deg_s


def slow_phase(trace: EyeTrace) -> FloatArray:
    """Slow-phase velocity where it is used, NaN elsewhere; shape (n,)."""
    return np.where(trace.use == USED, trace.velocity_deg_s, np.nan)


def median_s(trial: Trial) -> float:
    """How long the stretches of the medians are: half a second, less for a fast sinusoid."""
    frequency = trial.stimulus.get("frequency_hz")
    if isinstance(frequency, int | float) and frequency > 0:
        return min(MEDIAN_S, MEDIAN_CYCLES / frequency)
    return MEDIAN_S


def running_medians(time_s: FloatArray, values: FloatArray, stretch_s: float) -> FloatArray:
    """Medians of stretches of about so long, joined by straight lines; NaN beside an empty one."""
    length_s = float(time_s[-1] - time_s[0])
    parts = int(np.clip(length_s / stretch_s, 1, values.size))
    each = values.size // parts
    table = np.sort(values[: each * parts].reshape(parts, each), axis=1)  # NaN goes last
    row = np.arange(parts)
    middles = _middle(table)
    centres = time_s[np.minimum(row * each + each // 2, time_s.size - 1)]
    return np.interp(time_s, centres, middles)


def _middle(table: FloatArray) -> FloatArray:
    """The median of each sorted row; NaN where a row holds no number."""
    row, known = np.arange(len(table)), np.isfinite(table).sum(axis=1)
    low = table[row, np.maximum(known - 1, 0) // 2]
    high = table[row, np.minimum(known // 2, table.shape[1] - 1)]
    return np.where(known > 0, (low + high) / 2, np.nan)


def _told(id_: str, values: FloatArray, recording: Recording) -> dict[str, Any]:
    """A channel as `shapes.trials.Channel` has it."""
    told = channel_table()[id_]
    low, high = limits(values, whole=told["role"] in WHOLE)
    return {
        "id": id_,
        "role": told["role"],
        "label": told["label"],
        "unit": recording.raw_units.get(id_, told["unit"]),
        "plane": told.get("plane"),
        "side": told.get("side"),
        "panel": told["panel"],
        "low": low,
        "high": high,
    }


def limits(values: FloatArray, *, whole: bool) -> tuple[float, float]:
    """Between which values (nearly) all of a line lies; ``values`` has one that is finite."""
    known = values[np.isfinite(values)]
    if whole:
        return float(known.min()), float(known.max())
    some = known[:: max(1, known.size // SAMPLED)]
    low, high = np.percentile(some, [SPARE_PCT, 100 - SPARE_PCT])
    return float(low), float(high)


@cache
def channel_table() -> dict[str, dict[str, Any]]:
    """What is told of each channel, in the order of their lines."""
    text = (files(__package__) / "channels.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)
