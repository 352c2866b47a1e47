"""Spontaneous nystagmus: slow-phase velocity with the chair at rest."""

import numpy as np

from slowphase.eye.slowphase import Pieces
from slowphase.eye.track import Tracked
from slowphase.foundation.arrays import FloatArray
from slowphase.measures.interval import Estimate, symmetric, t_quantile
from slowphase.measures.measure import Measure
from slowphase.measures.prepare import Prepared, missing, result, too_little, usable
from slowphase.measures.regression import Data, Fit, no_prior, robust_fit
from slowphase.measures.result import TrialResult

BEAT_BLOCK_S = 5.0


def measure_spontaneous(prepared: Prepared) -> TrialResult:
    """Velocity (at the gaze that was held), beats per minute and how constant they are."""
    make = prepared.maker()
    if too_little(prepared):
        names = [("velocity", "deg/s"), ("beats_per_min", "/min"), ("beating_share", "%")]
        return result(prepared, missing(make, names, "too_short"))
    measures: list[Measure] = []
    fits = {}
    for of, tracked in (("horizontal", prepared.horizontal), ("vertical", prepared.vertical)):
        if tracked is not None and len(tracked.pieces) >= prepared.settings.pieces_min:
            fits[of] = centre(tracked.pieces)
            measures.append(
                make("velocity", _estimate(fits[of]), "deg/s", of=of, definition="held_gaze")
            )
    fit = fits["horizontal"]
    velocity = float(fit.parameters[0])
    measures += [
        make("beats_per_min", beats_per_min(prepared.horizontal, velocity), "/min"),
        make("beating_share", beating_share(prepared.pieces, velocity), "%"),
        make("usable", usable(prepared), "%"),
    ]
    line = np.full(prepared.recording.time_s.size, velocity)
    return result(prepared, measures, fit_deg_s=line, outlier=fit.weight < 0.05)


def centre(pieces: Pieces) -> Fit:
    """Robust centre of slow-phase velocity over the usable time, each second alike."""
    data = Data(
        pieces.time_s,
        pieces.velocity_deg_s,
        pieces.noise_deg_s,
        pieces.duration_s / pieces.duration_s.max(),
    )
    ones = np.ones(len(pieces))
    start = np.array([float(np.median(pieces.velocity_deg_s))])
    return robust_fit(lambda p: p[0] * ones, start, data, no_prior(1))


def _estimate(fit: Fit) -> Estimate:
    return symmetric(
        float(fit.parameters[0]), float(fit.standard_errors[0]), t_quantile(fit.degrees)
    )


def beats_per_min(tracked: Tracked, velocity_deg_s: float) -> Estimate:
    """Quick phases against the slow phase, per minute of the recording in which an eye is seen."""
    events, trace = tracked.trace.quick_phases, tracked.trace
    against = events.onset_s[np.sign(events.amplitude_deg) == -np.sign(velocity_deg_s)]
    edges = np.arange(trace.time_s[0], trace.time_s[-1] + BEAT_BLOCK_S, BEAT_BLOCK_S)
    seen = np.histogram(trace.time_s[np.isfinite(trace.position_deg)], edges)[0]
    counts = np.asarray(np.histogram(against, edges)[0], dtype=float)
    seconds = np.asarray(seen * np.median(np.diff(trace.time_s)), dtype=float)
    rate = 60.0 * counts.sum() / seconds.sum()
    return _floor(
        symmetric(rate, 60.0 * ratio_error(counts, seconds), t_quantile(seconds.size - 1))
    )


def ratio_error(counts: FloatArray, seconds: FloatArray) -> float:
    """Standard error of sum(counts) / sum(seconds) from the scatter between blocks."""
    rate = counts.sum() / seconds.sum()
    size = counts.size
    scatter = float(np.sum((counts - rate * seconds) ** 2)) * size / max(size - 1, 1)
    return scatter**0.5 / float(seconds.sum())


def beating_share(pieces: Pieces, velocity_deg_s: float) -> Estimate:
    """Share of time (%) in which the slow phase goes the way that names the nystagmus."""
    block = np.floor(pieces.time_s / BEAT_BLOCK_S)
    _, index = np.unique(block, return_inverse=True)
    seconds = np.asarray(np.bincount(index, weights=pieces.duration_s), dtype=float)
    way = np.bincount(index, weights=pieces.duration_s * pieces.velocity_deg_s)
    same = np.where(np.sign(way) == np.sign(velocity_deg_s), seconds, 0.0)
    share = 100.0 * float(same.sum() / seconds.sum())
    limits = symmetric(share, 100.0 * ratio_error(same, seconds), t_quantile(seconds.size - 1))
    return Estimate(share, max(limits.low or 0.0, 0.0), min(limits.high or 0.0, 100.0))


def _floor(estimate: Estimate) -> Estimate:
    return Estimate(estimate.value, max(estimate.low or 0.0, 0.0), estimate.high)
