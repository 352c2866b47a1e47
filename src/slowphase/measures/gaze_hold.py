"""When a gaze position was held, and the part of the recording in which it was."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from slowphase.eye.runs import runs_of
from slowphase.eye.trace import EyeTrace, QuickPhases
from slowphase.eye.track import Tracked
from slowphase.foundation.arrays import FloatArray
from slowphase.foundation.median import median
from slowphase.measures.gaze_settings import GazeSettings
from slowphase.measures.prepare import Prepared, number

SIDES = {
    "right": ("horizontal", 1.0),
    "left": ("horizontal", -1.0),
    "up": ("vertical", 1.0),
    "down": ("vertical", -1.0),
}
CENTRE = ("centre", "center")


@dataclass(frozen=True, slots=True)
class Place:
    """A gaze position: its name, the plane that it lies in, and the side (0 for the centre).

    ``eccentricity_deg`` is how far out it is, ≥ 0, NaN where the trial does not tell.
    """

    name: str
    plane: str
    side: float
    eccentricity_deg: float


def place_of(stimulus: Mapping[str, object]) -> Place | None:
    """The position that a trial asks for; None where it names none.

    A direction decides the side; without one the sign of the eccentricity does, right positive.
    """
    direction, where = str(stimulus.get("direction")), number(stimulus, "eccentricity_deg")
    if direction in SIDES:
        plane, side = SIDES[direction]
        return Place(direction, plane, side, abs(where))
    if direction in CENTRE or where == 0.0:
        return Place("centre", "horizontal", 0.0, 0.0)
    if not np.isfinite(where):
        return None
    return Place("right" if where > 0 else "left", "horizontal", float(np.sign(where)), abs(where))


def held_s(
    prepared: Prepared, place: Place | None, settings: GazeSettings
) -> tuple[float, float] | None:
    """From when to when (s) the position was held; None where it was not for long enough.

    The trial's own ``held_s`` counts; else the longest time in which the eye was out far enough.
    A trial that names no position counts from start to end.
    """
    time_s = prepared.recording.time_s
    told = prepared.trial.stimulus.get("held_s")
    if isinstance(told, list | tuple) and len(told) == 2:
        return long_enough(float(told[0]), min(float(told[1]), float(time_s[-1])), settings)
    until = returned_s(prepared)
    if place is None:
        return long_enough(float(time_s[0]), min(until, float(time_s[-1])), settings)
    tracked = prepared.horizontal if place.plane == "horizontal" else prepared.vertical
    if tracked is None:
        return None
    found = longest(tracked.trace, place, until, settings)
    return found and long_enough(found[0] + settings.hold_settles_s, found[1], settings)


def long_enough(
    start_s: float, stop_s: float, settings: GazeSettings
) -> tuple[float, float] | None:
    """The time between two moments if it suffices."""
    return (start_s, stop_s) if stop_s - start_s >= settings.hold_min_s else None


def returned_s(prepared: Prepared) -> float:
    """When the eye was sent back to the centre; infinite where the trial tells of no return."""
    when = number(prepared.trial.stimulus, "returned_s")
    return when if np.isfinite(when) else float("inf")


def longest(
    trace: EyeTrace, place: Place, until_s: float, settings: GazeSettings
) -> tuple[float, float] | None:
    """The longest time in which block medians of eye position are at the place."""
    time_s, middles = block_medians(trace, settings)
    out = place.side * middles
    if place.side == 0.0:
        there = np.abs(middles) <= settings.centre_deg
    else:
        far = place.eccentricity_deg
        usual = far if np.isfinite(far) else np.nanpercentile(np.nan_to_num(out), 90)
        there = out >= max(settings.hold_share * usual, settings.hold_least_deg)
    there = (there | np.isnan(middles)) & (time_s < until_s)
    start, stop = runs_of(there)
    if not start.size:
        return None
    at = int(np.argmax(stop - start))
    last = float(time_s[stop[at] - 1]) + settings.hold_block_s
    return float(time_s[start[at]]), min(last, until_s, float(trace.time_s[-1]))


def block_medians(trace: EyeTrace, settings: GazeSettings) -> tuple[FloatArray, FloatArray]:
    """Start (s) and median position (deg) of each block; NaN where no eye was seen."""
    block = np.floor((trace.time_s - trace.time_s[0]) / settings.hold_block_s).astype(np.int64)
    start = trace.time_s[0] + settings.hold_block_s * np.arange(block[-1] + 1)
    middles = np.full(start.size, np.nan)
    seen = np.isfinite(trace.position_deg)
    for number_ in np.unique(block[seen]):
        middles[number_] = median(trace.position_deg[seen & (block == number_)])
    return start, middles


def during(tracked: Tracked, span_s: tuple[float, float]) -> Tracked:
    """What was tracked between two moments; indices of the pieces still count from the start."""
    trace, (start_s, stop_s) = tracked.trace, span_s
    inside = (trace.time_s >= start_s) & (trace.time_s <= stop_s)
    events = trace.quick_phases
    kept = (events.onset_s >= start_s) & (events.onset_s <= stop_s)
    return replace(
        tracked,
        trace=EyeTrace(
            trace.time_s[inside],
            trace.position_deg[inside],
            trace.velocity_deg_s[inside],
            trace.use[inside],
            QuickPhases(
                events.onset_s[kept],
                events.offset_s[kept],
                events.amplitude_deg[kept],
                events.peak_velocity_deg_s[kept],
            ),
        ),
        pieces=tracked.pieces.only(
            (tracked.pieces.time_s >= start_s) & (tracked.pieces.time_s <= stop_s)
        ),
    )


def mean_gaze(tracked: Tracked) -> tuple[float, float]:
    """Mean gaze (deg) over the slow phase, and its standard error from the wandering between
    beats."""
    pieces = tracked.pieces
    weight = pieces.duration_s / pieces.duration_s.sum()
    mean = float(weight @ pieces.gaze_deg)
    beats = max(len(np.unique(pieces.beat)), 2)
    return mean, float(np.sqrt(weight @ (pieces.gaze_deg - mean) ** 2 / (beats - 1)))
