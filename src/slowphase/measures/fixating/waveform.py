"""Waveforms that are no jerk nystagmus of vestibular kind: slow phases that gain speed, swings."""

import numpy as np

from slowphase.eye.condense import block_mean
from slowphase.eye.gaps import bridge
from slowphase.eye.slowphase import Pieces, slopes
from slowphase.eye.trace import EyeTrace
from slowphase.eye.track import Tracked
from slowphase.foundation.arrays import FloatArray, IntArray
from slowphase.foundation.median import median
from slowphase.measures.fixating.settings import FixatingSettings

WORKING_HZ = 100.0  # far above any swing of the eye
BASELINE_S = 1.0  # slower movement is gaze, not a swing


def waveform_reasons(tracked: Tracked, settings: FixatingSettings) -> tuple[str, ...]:
    """``waveform_not_interpretable`` where slow phases gain speed or the eye swings."""
    odd = gains_speed(tracked, settings) or swings(tracked.trace, settings)
    return ("waveform_not_interpretable",) if odd else ()


def gains_speed(tracked: Tracked, settings: FixatingSettings) -> bool:
    """Whether slow phases end faster than they begin, nearly all of them."""
    change, share = speed_changes(tracked, settings)
    if change.size < settings.beats_min or share < settings.beats_share:
        return False
    middle = median(change)
    return middle > settings.rising and float(np.mean(change > 0)) >= settings.rising_share


def speed_changes(tracked: Tracked, settings: FixatingSettings) -> tuple[FloatArray, float]:
    """(late − early)/(late + early) of the speeds of each slow phase that is long and fast enough,
    shape (b,), and which share of the slow phases they are."""
    trace = tracked.trace
    start, stop = beats_of(tracked.pieces)
    long = trace.time_s[np.maximum(stop - 1, 0)] - trace.time_s[start] >= settings.beat_min_s
    start, stop = start[long], stop[long]
    if not start.size:
        return np.zeros(0), 0.0
    position = bridge(trace.position_deg)
    middle = (start + stop) // 2
    whole = slopes(position, trace.time_s, start, stop)
    fast = np.abs(whole) >= settings.beat_speed_deg_s
    early = slopes(position, trace.time_s, start[fast], middle[fast]) * np.sign(whole[fast])
    late = slopes(position, trace.time_s, middle[fast], stop[fast]) * np.sign(whole[fast])
    return (late - early) / (np.abs(late) + np.abs(early)), float(fast.mean())


def beats_of(pieces: Pieces) -> tuple[IntArray, IntArray]:
    """First and last sample (exclusive) of each uninterrupted slow phase, shape (b,)."""
    if not len(pieces):
        return np.zeros(0, dtype=np.int64), np.zeros(0, dtype=np.int64)
    first = np.flatnonzero(np.diff(pieces.beat, prepend=-1))
    last = np.append(first[1:], len(pieces)) - 1
    return pieces.start[first], pieces.stop[last]


def swings(trace: EyeTrace, settings: FixatingSettings) -> bool:
    """Whether the eye swings as a pendulum: one frequency, some size, no brief fast parts."""
    found = swing_of(trace, settings)
    if found is None:
        return False
    _, amplitude, share, kurtosis = found
    return (
        amplitude >= settings.pendular_deg
        and share >= settings.pendular_share
        and kurtosis <= settings.pendular_kurtosis
    )


def swing_of(
    trace: EyeTrace, settings: FixatingSettings
) -> tuple[float, float, float, float] | None:
    """Frequency (Hz), amplitude (deg), share of the power, and kurtosis of velocity of the
    strongest swing; None for recordings under four seconds."""
    rate = 1.0 / median(np.diff(trace.time_s)) if trace.time_s.size > 1 else 0.0
    factor = max(1, round(rate / WORKING_HZ))
    position = bridge(block_mean(trace.position_deg, factor))
    rate /= factor
    if not rate > 0 or position.size < 4 * rate or not np.isfinite(position).all():
        return None
    position = position - _slow(position, round(BASELINE_S * rate))
    window = np.hanning(position.size)
    power = np.abs(np.fft.rfft(position * window)) ** 2
    at_hz = np.fft.rfftfreq(position.size, 1.0 / rate)
    band = (at_hz >= settings.pendular_low_hz) & (at_hz <= settings.pendular_high_hz)
    if not band.any() or not power[band].sum() > 0:
        return None
    peak = float(at_hz[band][np.argmax(power[band])])
    near = band & (np.abs(at_hz - peak) <= settings.pendular_width_hz)
    mean_square = 2.0 * float(power[near].sum()) / (position.size * float(np.sum(window**2)))
    velocity = np.gradient(_slow(position, max(3, round(0.03 * rate))))
    spread = velocity - velocity.mean()
    kurtosis = float(np.mean(spread**4) / max(float(np.mean(spread**2)) ** 2, 1e-12))
    share = float(power[near].sum() / power[band].sum())
    return peak, (2.0 * mean_square) ** 0.5, share, kurtosis


def _slow(values: FloatArray, width: int) -> FloatArray:
    """Running mean over an odd number of samples, ends repeated, shape (n,)."""
    half = max(width // 2, 1)
    padded = np.pad(values, half, mode="edge")
    return np.convolve(padded, np.ones(2 * half + 1) / (2 * half + 1), mode="valid")
