"""Spontaneous nystagmus: slow-phase velocity with the chair at rest."""

from dataclasses import replace

import numpy as np

from slowphase.eye.noise import robust_sd
from slowphase.eye.runs import first_of_runs, numbers_of_runs
from slowphase.eye.slowphase import Pieces
from slowphase.eye.track import Tracked
from slowphase.foundation.arrays import FloatArray
from slowphase.foundation.median import median
from slowphase.measures.interval import NOTHING, Estimate, Maker, symmetric, t_quantile
from slowphase.measures.measure import Measure
from slowphase.measures.prepare import Prepared, carry, missing, result, too_little
from slowphase.measures.reflex import data_of
from slowphase.measures.regression import Fit, no_prior, robust_fit
from slowphase.measures.result import TrialResult
from slowphase.measures.settings import MeasureSettings
from slowphase.measures.two_directions import BIAS, SIZE


def measure_spontaneous(prepared: Prepared) -> TrialResult:
    """Velocity (at the gaze that was held), beats per minute and how constant they are."""
    make = prepared.maker()
    if too_little(prepared):
        return result(prepared, no_spontaneous(make, "too_short"))
    measures, fit = plane_measures(make, prepared.horizontal, "horizontal", prepared.settings)
    vertical = prepared.vertical
    if vertical is not None and len(vertical.pieces) >= prepared.settings.pieces_min:
        measures += plane_measures(make, vertical, "vertical", prepared.settings)[0]
    velocity = float(fit.parameters[0])
    line = np.full(prepared.recording.time_s.size, velocity)
    own = np.zeros(SIZE)
    own[BIAS] = velocity
    one_way = "direction_changes" not in measures[0].why
    carried = carry(prepared, fit, own) if one_way else None
    return replace(result(prepared, measures, fit_deg_s=line), carried=carried)


def no_spontaneous(make: Maker, why: str) -> list[Measure]:
    """The measures of a trial that shows nothing, each missing for one reason."""
    velocity = make(
        "velocity", NOTHING, "deg/s", of="horizontal", definition="held_gaze", why=(why,)
    )
    return [velocity, *missing(make, [("beats_per_min", "/min"), ("beating_share", "%")], why)]


def plane_measures(
    make: Maker, tracked: Tracked, of: str, settings: MeasureSettings
) -> tuple[list[Measure], Fit]:
    """Velocity, beats and constancy of one plane, and the fit of its centre.

    The measures of the horizontal plane carry no ``of``.
    """
    changes = direction_changes(tracked.pieces, settings)
    fit = centre(tracked.pieces, settings, robust=not changes)
    velocity = float(fit.parameters[0])
    share = beating_share(tracked.pieces, velocity, settings)
    why = ("direction_changes",) if changes else ()
    shown = None if of == "horizontal" else of
    return [
        make("velocity", _estimate(fit), "deg/s", of=of, definition="held_gaze", why=why),
        make(
            "beats_per_min", beats_per_min(tracked, velocity, settings), "/min", of=shown, why=why
        ),
        make("beating_share", share, "%", of=shown, why=why),
    ], fit


def direction_changes(pieces: Pieces, settings: MeasureSettings) -> bool:
    """Whether the slow phase goes surely to one side for some time, and surely to the other.

    Blocks of ``beat_block_s`` whose median is beyond ``spontaneous_min_deg_s`` and
    ``direction_sd`` of its own standard errors count; each side needs ``direction_share`` of all
    blocks, and two at least.
    """
    block = np.floor(pieces.time_s / settings.beat_block_s).astype(np.int64)
    parts = np.split(pieces.velocity_deg_s, first_of_runs(block)[1:])
    sure = []
    for part in parts:
        middle = median(part)
        error = 1.25 * robust_sd(part) / max(part.size, 1) ** 0.5
        least = max(settings.spontaneous_min_deg_s, settings.direction_sd * error)
        if part.size >= settings.direction_pieces_min and abs(middle) > least:
            sure.append(np.sign(middle))
    enough = max(2.0, settings.direction_share * len(parts))
    return bool(min(sure.count(1.0), sure.count(-1.0)) >= enough)


def centre(pieces: Pieces, settings: MeasureSettings, *, robust: bool = True) -> Fit:
    """Centre of slow-phase velocity over the usable time, each second alike.

    Robust against overlooked quick phases, unless the nystagmus changes direction: then the mean,
    since none of its sides is the outlier.
    """
    share = pieces.duration_s / pieces.duration_s.max()
    data = replace(data_of(pieces, settings), share=share)
    ones = np.ones(len(pieces))
    start = np.array([median(pieces.velocity_deg_s)])
    return robust_fit(lambda p: p[0] * ones, start, data, no_prior(1), robust=robust)


def _estimate(fit: Fit) -> Estimate:
    return symmetric(
        float(fit.parameters[0]), float(fit.standard_errors[0]), t_quantile(fit.degrees)
    )


def beats_per_min(tracked: Tracked, velocity_deg_s: float, settings: MeasureSettings) -> Estimate:
    """Quick phases against the slow phase, per minute of the recording in which an eye is seen."""
    events, trace = tracked.trace.quick_phases, tracked.trace
    against = events.onset_s[np.sign(events.amplitude_deg) == -np.sign(velocity_deg_s)]
    block_s = settings.beat_block_s
    edges = np.arange(trace.time_s[0], trace.time_s[-1] + block_s, block_s)
    seen = np.histogram(trace.time_s[np.isfinite(trace.position_deg)], edges)[0]
    counts = np.asarray(np.histogram(against, edges)[0], dtype=float)
    seconds = np.asarray(seen * median(np.diff(trace.time_s)), dtype=float)
    rate = 60.0 * float(counts.sum() / seconds.sum())
    if seconds.size < 2:
        return Estimate(rate)
    return _floor(
        symmetric(rate, 60.0 * ratio_error(counts, seconds), t_quantile(seconds.size - 1))
    )


def ratio_error(counts: FloatArray, seconds: FloatArray) -> float:
    """Standard error of sum(counts) / sum(seconds) from the scatter between blocks."""
    rate = counts.sum() / seconds.sum()
    size = counts.size
    scatter = float(np.sum((counts - rate * seconds) ** 2)) * size / max(size - 1, 1)
    return scatter**0.5 / float(seconds.sum())


def beating_share(pieces: Pieces, velocity_deg_s: float, settings: MeasureSettings) -> Estimate:
    """Share of time (%) in which the slow phase goes the way that names the nystagmus."""
    index = numbers_of_runs(np.floor(pieces.time_s / settings.beat_block_s).astype(np.int64))
    seconds = np.asarray(np.bincount(index, weights=pieces.duration_s), dtype=float)
    way = np.bincount(index, weights=pieces.duration_s * pieces.velocity_deg_s)
    same = np.where(np.sign(way) == np.sign(velocity_deg_s), seconds, 0.0)
    share = 100.0 * float(same.sum() / seconds.sum())
    if seconds.size < 2:
        return Estimate(share)
    limits = symmetric(share, 100.0 * ratio_error(same, seconds), t_quantile(seconds.size - 1))
    return Estimate(share, max(limits.low or 0.0, 0.0), min(limits.high or 0.0, 100.0))


def _floor(estimate: Estimate) -> Estimate:
    return Estimate(estimate.value, max(estimate.low or 0.0, 0.0), estimate.high)
