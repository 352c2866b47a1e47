"""Positional nystagmus: peak of every plane, latency, duration and decay of the burst.

The slow phase of each plane is a cubic spline with a knot every 2 s and a wide normal prior on its
bends, fitted by robust generalised least squares. The plane with the largest peak tells the times.
"""

from dataclasses import dataclass, replace

import numpy as np

from slowphase.eye.slowphase import Pieces
from slowphase.eye.trace import EyeTrace
from slowphase.eye.track import Tracked
from slowphase.foundation.arrays import BoolArray, FloatArray
from slowphase.measures.caloric_curve import bend_basis, rough_spread_deg_s
from slowphase.measures.interval import (
    NOTHING,
    Estimate,
    Maker,
    proportional,
    symmetric,
    t_quantile,
)
from slowphase.measures.measure import Measure
from slowphase.measures.positional_settings import PositionalSettings
from slowphase.measures.prepare import Prepared, missing, number, result
from slowphase.measures.reflex import data_of
from slowphase.measures.regression import Fit, Prior, robust_fit
from slowphase.measures.result import TrialResult
from slowphase.measures.settings import MeasureSettings

GRID_HZ = 10.0  # of the curve: 20 points from knot to knot
NAMES = [("latency", "s"), ("duration", "s"), ("decay", "s")]


@dataclass(frozen=True, slots=True)
class Linear:
    """A model that is linear in its parameters; ``design`` has shape (p, k)."""

    design: FloatArray

    def __call__(self, parameters: FloatArray) -> FloatArray:
        """Predictions, shape (p,)."""
        return self.design @ parameters

    def jacobian(self, parameters: FloatArray) -> FloatArray:
        """Derivatives of the predictions, shape (p, k)."""
        return self.design


@dataclass(frozen=True, slots=True)
class Course:
    """Slow phase of one plane on an even grid: ``time_s`` and ``seen`` (g,), ``design`` (g, k)."""

    of: str
    fit: Fit
    time_s: FloatArray
    design: FloatArray
    seen: BoolArray

    @property
    def velocity_deg_s(self) -> FloatArray:
        """The curve, shape (g,)."""
        return self.design @ self.fit.parameters

    @property
    def quantile(self) -> float:
        """Of the fit's intervals."""
        return t_quantile(self.fit.degrees)

    def estimate(self, row: FloatArray) -> tuple[float, float]:
        """A weighted sum of the parameters and its standard error."""
        variance = float(row @ self.fit.covariance @ row)
        return float(row @ self.fit.parameters), max(variance, 0.0) ** 0.5


@dataclass(frozen=True, slots=True)
class PositionalShape:
    """What the picture of a position shows.

    ``start_s`` is when it was reached (None where that is not told), ``curves`` holds plane, times
    (g,) and slow phase (g,) of each plane, ``torsional`` the trace that other pictures do not have.
    """

    start_s: float | None
    curves: tuple[tuple[str, FloatArray, FloatArray], ...]
    torsional: EyeTrace | None


def measure_positional(prepared: Prepared) -> TrialResult:
    """Peaks (signed slow phase) of all planes, and the times of the burst.

    Sets ``too_short``, ``no_positional_nystagmus``, ``position_time_unknown``, ``begins_at_once``,
    ``response_outlasts``, ``lasting_nystagmus``, ``not_identifiable``.
    """
    settings, make = prepared.settings.battery.positional, prepared.maker()
    start_s, why = start_of(prepared)
    courses = [
        course_of(of, tracked, start_s, prepared.settings)
        for of, tracked in planes(prepared)
        if enough(tracked.pieces, start_s, prepared.settings)
    ]
    if not courses:
        return result(prepared, no_positional(make, "too_short"))
    tops = [strongest(course, settings) for course in courses]
    speeds = [abs(course.estimate(row)[0]) for course, (_, row) in zip(courses, tops, strict=True)]
    main = int(np.argmax(speeds))
    measures = peak_measures(make, courses, tops[main][0], settings)
    measures += time_measures(
        replace(make, why=(*make.why, *why)), courses[main], tops[main], start_s, settings
    )
    measured = result(prepared, measures, fit_deg_s=shown(prepared, courses))
    if measured.evidence is None:
        return measured
    shape = PositionalShape(
        start_s if not why else None,
        tuple((c.of, c.time_s, c.velocity_deg_s) for c in courses),
        prepared.torsional.trace if prepared.torsional else None,
    )
    return replace(measured, evidence=replace(measured.evidence, own=shape))


def no_positional(make: Maker, why: str) -> list[Measure]:
    """The measures of a trial that shows nothing, each missing for one reason."""
    return [make("peak", NOTHING, "deg/s", of="horizontal", why=(why,)), *missing(make, NAMES, why)]


def planes(prepared: Prepared) -> list[tuple[str, Tracked]]:
    """The planes that were recorded."""
    found = (
        ("horizontal", prepared.horizontal),
        ("vertical", prepared.vertical),
        ("torsional", prepared.torsional),
    )
    return [(of, tracked) for of, tracked in found if tracked is not None]


def start_of(prepared: Prepared) -> tuple[float, tuple[str, ...]]:
    """When the position was reached (s); the recording's start, with a reason, where unknown."""
    first = float(prepared.recording.time_s[0])
    when = number(prepared.trial.stimulus, "positioned_s")
    known = np.isfinite(when) and when < prepared.recording.time_s[-1]
    return (max(when, first), ()) if known else (first, ("position_time_unknown",))


def enough(pieces: Pieces, start_s: float, settings: MeasureSettings) -> bool:
    """Whether a plane shows enough slow phase in the position."""
    return int((pieces.time_s >= start_s).sum()) >= settings.pieces_min


def course_of(of: str, tracked: Tracked, start_s: float, settings: MeasureSettings) -> Course:
    """The curve of one plane from the position on."""
    own, pieces = settings.battery.positional, tracked.pieces
    pieces = pieces.only(pieces.time_s >= start_s)
    end_s = float(tracked.trace.time_s[-1])
    count = max(int(np.ceil((end_s - start_s) / own.burst_knot_s)), 1)
    design = design_at(pieces.time_s, start_s, count, own)
    spread = rough_spread_deg_s(pieces, 2.0 * own.burst_knot_s)
    bend = max(own.burst_bend_share * spread, own.burst_bend_min_deg_s)
    sd = np.concatenate([[np.inf, np.inf], np.full(count, bend)])
    start = np.zeros(sd.size)
    start[0] = float(np.median(pieces.velocity_deg_s))
    fit = robust_fit(Linear(design), start, data_of(pieces, settings), Prior(np.zeros(sd.size), sd))
    grid = np.arange(start_s, end_s, 1.0 / GRID_HZ)
    seen = seen_near(grid, pieces.only(fit.weight > 0), own)
    return Course(of, fit, grid, design_at(grid, start_s, count, own), seen)


def design_at(
    time_s: FloatArray, start_s: float, count: int, settings: PositionalSettings
) -> FloatArray:
    """Level, slope and bends at these times, shape (p, count + 2).

    Each bend begins a knot before its place, so that the curve may bend from the start on.
    """
    since = (time_s - start_s) / settings.burst_knot_s
    return np.column_stack([np.ones(since.size), since, bend_basis(since + 1.0, count)])


def seen_near(grid_s: FloatArray, pieces: Pieces, settings: PositionalSettings) -> BoolArray:
    """Where enough slow phase lies within the length of a peak, shape (g,)."""
    place = np.clip(((pieces.time_s - grid_s[0]) * GRID_HZ).astype(np.int64), 0, grid_s.size - 1)
    seconds = np.bincount(place, weights=pieces.duration_s, minlength=grid_s.size)
    width = min(round(settings.strongest_s * GRID_HZ), grid_s.size)
    near = np.convolve(seconds, np.ones(width), mode="same")
    return np.asarray(near >= settings.strongest_seen_s)


def strongest(course: Course, settings: PositionalSettings) -> tuple[float, FloatArray]:
    """Middle (s) of the strongest two seconds of a plane, and the row of their mean."""
    width = min(round(settings.strongest_s * GRID_HZ) + 1, course.time_s.size)
    rows = sliding(course.design, width)
    centre = course.time_s[: rows.shape[0]] + 0.5 * (width - 1) / GRID_HZ
    seen = course.seen[(width - 1) // 2 :][: rows.shape[0]]
    speed = np.where(seen, np.abs(rows @ course.fit.parameters), -1.0)
    at = int(np.argmax(speed))
    return float(centre[at]), rows[at]


def sliding(rows: FloatArray, width: int) -> FloatArray:
    """Means of ``width`` rows in a row, shape (g − width + 1, k)."""
    sums = np.vstack([np.zeros(rows.shape[1]), np.cumsum(rows, axis=0)])
    return np.asarray((sums[width:] - sums[:-width]) / width)


def peak_measures(
    make: Maker, courses: list[Course], centre_s: float, settings: PositionalSettings
) -> list[Measure]:
    """Slow phase of every plane during the strongest two seconds of the main one."""
    half, found = 0.5 * settings.strongest_s, []
    for course in courses:
        near = np.abs(course.time_s - centre_s) <= half + 0.5 / GRID_HZ
        value, error = course.estimate(course.design[near].mean(axis=0))
        estimate = symmetric(value, error, course.quantile)
        why = () if is_nystagmus(value, error, settings) else ("no_positional_nystagmus",)
        found.append(make("peak", estimate, "deg/s", of=course.of, definition="main_peak", why=why))
    return found


def is_nystagmus(value: float, error: float, settings: PositionalSettings) -> bool:
    """Whether a peak is beyond a still eye's."""
    return abs(value) > max(settings.nystagmus_sd * error, settings.nystagmus_min_deg_s)


def time_measures(
    make: Maker,
    course: Course,
    top: tuple[float, FloatArray],
    start_s: float,
    settings: PositionalSettings,
) -> list[Measure]:
    """Latency from the position, duration, and decay from the peak to 1/e, of the main plane."""
    peak, error = course.estimate(top[1])
    if not is_nystagmus(peak, error, settings):
        return missing(make, NAMES, "no_positional_nystagmus")
    speed = np.sign(peak) * course.velocity_deg_s
    at = int(np.argmin(np.abs(course.time_s - top[0])))
    limit = max(settings.onset_share * abs(peak), settings.onset_min_deg_s)
    onset, ended = last_below(speed, at, limit), first_below(speed, at, limit)
    return [
        latency(make, course, onset, start_s, settings),
        duration(make, course, (onset, ended), settings),
        decay(make, course, (at, first_below(speed, at, abs(peak) / np.e))),
    ]


def last_below(speed: FloatArray, at: int, limit: float) -> int | None:
    """The last grid point before the peak with a speed under the limit; None without one."""
    below = np.flatnonzero(speed[:at] < limit)
    return int(below[-1]) if below.size else None


def first_below(speed: FloatArray, at: int, limit: float) -> int | None:
    """The first grid point after the peak with a speed under the limit; None without one."""
    below = np.flatnonzero(speed[at:] < limit)
    return at + int(below[0]) if below.size else None


def crossing_error_s(course: Course, at: int) -> float:
    """Standard error (s) of the time at which the curve crosses a level: its own over its slope."""
    first, last = max(at - 3, 0), min(at + 3, course.time_s.size - 1)
    velocity = course.velocity_deg_s
    slope = (velocity[last] - velocity[first]) * GRID_HZ / max(last - first, 1)
    _, error = course.estimate(course.design[at])
    return error / max(abs(float(slope)), 1e-2)


def latency(
    make: Maker, course: Course, onset: int | None, start_s: float, settings: PositionalSettings
) -> Measure:
    """From the position to a tenth of the peak; from 0 on where the burst begins at once."""
    if onset is None:
        limits = Estimate(0.0, 0.0, settings.onset_error_s)
        return make("latency", limits, "s", definition="to_a_tenth", why=("begins_at_once",))
    value = float(course.time_s[onset]) - start_s
    error = float(np.hypot(crossing_error_s(course, onset), settings.onset_error_s))
    limits = symmetric(value, error, course.quantile)
    estimate = Estimate(value, max(limits.low or 0.0, 0.0), limits.high)
    return make("latency", estimate, "s", definition="to_a_tenth")


def duration(
    make: Maker, course: Course, ends: tuple[int | None, int | None], settings: PositionalSettings
) -> Measure:
    """From a tenth of the peak until it has fallen to that again."""
    onset, ended = ends
    if ended is None:
        lasted = course.time_s[-1] - course.time_s[onset or 0]
        lasting = ("lasting_nystagmus",) if lasted >= settings.lasting_s else ()
        return make("duration", NOTHING, "s", why=("response_outlasts", *lasting))
    value = float(course.time_s[ended] - course.time_s[onset or 0])
    errors = [crossing_error_s(course, at) for at in (onset, ended) if at is not None]
    limits = symmetric(value, float(np.hypot.reduce(errors)), course.quantile)
    why = ("lasting_nystagmus",) if value >= settings.lasting_s else ()
    estimate = Estimate(value, max(limits.low or 0.0, 0.0), limits.high)
    return make("duration", estimate, "s", definition="to_a_tenth", why=why)


def decay(make: Maker, course: Course, fall: tuple[int, int | None]) -> Measure:
    """From the peak until it has fallen to 1/e of it; interval on the logarithm."""
    at, fallen = fall
    if fallen is None:
        return make("decay", NOTHING, "s", definition="one_over_e", why=("response_outlasts",))
    value = float(course.time_s[fallen] - course.time_s[at])
    error = crossing_error_s(course, fallen)
    if not value > 0.0 or error > value:
        return make("decay", NOTHING, "s", definition="one_over_e", why=("not_identifiable",))
    estimate = proportional(value, error / value, course.quantile)
    return make("decay", estimate, "s", definition="one_over_e")


def shown(prepared: Prepared, courses: list[Course]) -> FloatArray | None:
    """The horizontal curve at every sample, NaN before the position, shape (n,)."""
    across = next((course for course in courses if course.of == "horizontal"), None)
    if across is None:
        return None
    return np.interp(prepared.recording.time_s, across.time_s, across.velocity_deg_s, left=np.nan)
