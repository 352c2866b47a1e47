"""Does the head trace show the motion that the trial names?"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from slowphase.foundation.arrays import FloatArray
from slowphase.foundation.median import median, quantile

_TOLERANCE = 0.05
_CHECK_HZ = 25.0
_TURNING_DEG_S = 10.0


@dataclass(frozen=True, slots=True)
class StimulusVerdict:
    """``contradiction`` in words (key, found, expected) or None; ``differs`` where less differs."""

    contradiction: tuple[str, str, str] | None = None
    differs: bool = False


AGREES = StimulusVerdict()


def check_stimulus(
    kind: str,
    stimulus: Mapping[str, object],
    time_s: FloatArray,
    head_velocity_deg_s: FloatArray,
    *,
    of_position: bool = False,
) -> StimulusVerdict:
    """Compare a head trace of shape (n,) with the trial's keys.

    A sinusoid contradicts when the head hardly moves or its frequency is another by more than 5 %
    and by half a cycle over the trial; a step when the head hardly moves, turns the other way or
    spins more than once.
    Another peak (by more than 5 %) only differs, unless it is the one that a velocity taken for a
    position (or the reverse), rpm taken for deg/s, or three times the speed asked for would make.
    A check contradicts by its frequency alone: what its chair delivers is measured.
    A spontaneous trial contradicts when the head turns. ``of_position``: the velocity was made of
    a position column.
    """
    known = np.isfinite(head_velocity_deg_s)
    swings = kind == "check" and {"frequency_hz", "peak_velocity_deg_s"} <= stimulus.keys()
    if not (swings or kind in ("spontaneous", "sinusoid", "step")) or known.sum() < 10:
        return AGREES
    rate_hz = max(_CHECK_HZ, 40.0 * float(str(stimulus.get("frequency_hz", 0.0))))
    time_s, velocity = thinned(time_s[known], head_velocity_deg_s[known], rate_hz)
    if kind == "spontaneous":
        return _check_rest(velocity)
    if kind == "step":
        return _check_step(stimulus, time_s, velocity, of_position)
    if kind == "check":
        return _check_swing(stimulus, time_s, velocity)
    verdict, peak = _check_sinusoid(stimulus, time_s, velocity)
    if not verdict.differs:
        return verdict
    turns_per_s = 2 * np.pi * float(str(stimulus["frequency_hz"]))
    other = peak / turns_per_s if of_position else peak * turns_per_s
    return _check_reading("peak_velocity_deg_s", stimulus, peak, (other, of_position)) or verdict


def thinned(
    time_s: FloatArray, velocity: FloatArray, rate_hz: float
) -> tuple[FloatArray, FloatArray]:
    """Means over 40 ms, or a fortieth of the period, which lower noise and cost."""
    place = (time_s - time_s[0]) * rate_hz
    starts = np.searchsorted(place, np.arange(np.floor(place[-1]) + 1))
    starts = starts[np.diff(starts, prepend=-1) > 0]
    count = np.diff(starts, append=place.size)
    return np.add.reduceat(time_s, starts) / count, np.add.reduceat(velocity, starts) / count


def _check_rest(velocity: FloatArray) -> StimulusVerdict:
    speed = quantile(np.abs(velocity), 0.8)
    if speed <= _TURNING_DEG_S:
        return AGREES
    return _contradiction("kind", f"a head that turns at {speed:.0f} deg/s", "a head at rest")


def _check_reading(
    key: str, stimulus: Mapping[str, object], reached: float, other: tuple[float, bool]
) -> StimulusVerdict | None:
    """Whether a peak that differs is the one asked for, read in another way.

    ``other`` is the peak that the column has when read as the other of position and velocity, and
    whether it was read as a position.
    """
    asked = float(str(stimulus[key]))
    as_other, of_position = other
    expected = f"{asked:g} deg/s"
    if abs(as_other - asked) < 2 * _TOLERANCE * asked:
        found = (
            "a velocity mapped as a position" if of_position else "a position mapped as velocity"
        )
        return _contradiction(key, f"what looks like {found} (peak {reached:.3g} deg/s)", expected)
    if abs(6.0 * reached - asked) < _TOLERANCE * asked:
        return _contradiction(key, f"what looks like rpm ({reached:.3g} deg/s as mapped)", expected)
    if reached > 3.0 * asked:
        return _contradiction(key, f"{reached:.3g} deg/s, as another unit would make", expected)
    return None


def _check_step(
    stimulus: Mapping[str, object], time_s: FloatArray, velocity: FloatArray, of_position: bool
) -> StimulusVerdict:
    asked = float(str(stimulus["velocity_deg_s"]))
    right, left = quantile(velocity, 0.98), -quantile(velocity, 0.02)
    reached = max(_plateau(velocity, 1.0), _plateau(velocity, -1.0))
    if max(right, left) < max(0.1 * asked, 2.0) and reached < max(0.1 * asked, 2.0):
        return _contradiction(
            "velocity_deg_s", f"a head at rest ({reached:.1f} deg/s)", f"{asked:g} deg/s"
        )
    if (spins := _count_spins(time_s, velocity, reached)) > 1:
        found = f"{spins} spins"
        return _contradiction("kind", found, "one spin in each trial (see start_s and stop_s)")
    turned = "right" if _plateau(velocity, 1.0) >= _plateau(velocity, -1.0) else "left"
    direction = str(stimulus["direction"])
    if turned != direction:
        return _contradiction("direction", f"a spin to the {turned}", f"a spin to the {direction}")
    differs = abs(reached - asked) > _TOLERANCE * asked
    if not of_position and not differs:
        return AGREES
    as_other = _swing(time_s, velocity) if of_position else 0.0
    reading = _check_reading("velocity_deg_s", stimulus, reached, (as_other, of_position))
    return reading or StimulusVerdict(differs=differs)


def _swing(time_s: FloatArray, velocity: FloatArray) -> float:
    """How far apart the head's positions lie, in deg."""
    moved = np.cumsum(velocity[:-1] * np.diff(time_s))
    return float(np.ptp(moved)) if moved.size else 0.0


def _count_spins(time_s: FloatArray, velocity: FloatArray, reached: float) -> int:
    """How often the chair comes up to speed, to either side, from rest or from the other side."""
    step_s = median(np.diff(time_s)) if time_s.size > 1 else 1.0
    width = min(max(round(1.0 / step_s), 1), velocity.size)
    smooth = np.convolve(velocity, np.ones(width) / width, mode="same")
    state = np.where(np.abs(smooth) > 0.7 * reached, np.sign(smooth), 0.0)
    told = state[(state != 0) | (np.abs(smooth) < 0.3 * reached)]
    begins = np.diff(told, prepend=0.0) != 0
    return int(np.count_nonzero(begins & (told != 0)))


def _plateau(velocity: FloatArray, sign: float) -> float:
    """Speed that is held to one side: the median of the samples above 70 % of the highest."""
    speed = sign * velocity
    top = quantile(speed, 0.995)
    held = speed[speed > 0.7 * top] if top > 0 else speed[:0]
    return median(held) if held.size else 0.0


def _check_sinusoid(
    stimulus: Mapping[str, object], time_s: FloatArray, velocity: FloatArray
) -> tuple[StimulusVerdict, float]:
    """The verdict, and the peak velocity of the sine that was fitted."""
    asked_hz = float(str(stimulus["frequency_hz"]))
    asked_peak = float(str(stimulus["peak_velocity_deg_s"]))
    time_s, velocity = _moving_part(time_s, velocity, asked_hz, asked_peak)
    if time_s.size < 5:
        found = "a head at rest"
        return _contradiction("peak_velocity_deg_s", found, f"{asked_peak:g} deg/s"), 0.0
    peak, share = fitted_sine(time_s, velocity, asked_hz)
    if share > 0.9:
        return StimulusVerdict(differs=_another_peak(velocity, peak, asked_peak)), peak
    found_hz, found_share = dominant_sine(time_s, velocity, asked_hz)
    duration_s = float(time_s[-1] - time_s[0])
    slip_cycles = abs(found_hz - asked_hz) * duration_s
    off = abs(found_hz - asked_hz) > _TOLERANCE * asked_hz and slip_cycles > 0.5
    if off and found_share > share + 0.2:
        found = f"a head moving at {found_hz:.3g} Hz"
        return _contradiction("frequency_hz", found, f"{asked_hz:g} Hz"), 0.0
    if share < 0.2:
        found = f"a head motion without a {asked_hz:g} Hz sinusoid"
        return _contradiction("frequency_hz", found, f"{asked_hz:g} Hz"), 0.0
    return StimulusVerdict(differs=_another_peak(velocity, peak, asked_peak)), peak


def _check_swing(
    stimulus: Mapping[str, object], time_s: FloatArray, velocity: FloatArray
) -> StimulusVerdict:
    """The frequency of a check, whatever speed its chair reached."""
    reached = quantile(np.abs(velocity), 0.95)
    as_reached = {**stimulus, "peak_velocity_deg_s": reached}
    verdict, _ = _check_sinusoid(as_reached, time_s, velocity)
    found = verdict.contradiction
    return verdict if found is not None and found[0] == "frequency_hz" else AGREES


def _another_peak(velocity: FloatArray, fitted: float, asked: float) -> bool:
    """Neither the fitted peak nor that of the samples is near the one asked for.

    95 % of the samples of a sine stay below 0.997 of its peak; a chair that starts gently or stops
    in the middle has a lower fitted peak without another one.
    """
    reached = quantile(np.abs(velocity - np.mean(velocity)), 0.95) / 0.997
    return min(abs(fitted - asked), abs(reached - asked)) > _TOLERANCE * asked


def _moving_part(
    time_s: FloatArray, velocity: FloatArray, asked_hz: float, asked_peak: float
) -> tuple[FloatArray, FloatArray]:
    """From the first to the last sample that clearly moves; rest before and after is left out."""
    step_s = median(np.diff(time_s))
    width = min(max(round(0.1 / (asked_hz * step_s)), 1), velocity.size)
    smooth = np.convolve(velocity, np.ones(width) / width, mode="same")
    noise = 4.5 * median(np.abs(np.diff(velocity))) / 0.954 / np.sqrt(width)
    moving = np.flatnonzero(np.abs(smooth) > max(0.1 * asked_peak, min(noise, 0.3 * asked_peak)))
    if moving.size < 5:
        return time_s[:0], velocity[:0]
    part = slice(moving[0], moving[-1] + 1)
    return time_s[part], velocity[part]


def fitted_sine(
    time_s: FloatArray, velocity: FloatArray, frequency_hz: float
) -> tuple[float, float]:
    """Amplitude of a sine with offset, and the share of the variance it explains."""
    angle = 2 * np.pi * frequency_hz * (time_s - time_s[0])
    design = np.column_stack([np.sin(angle), np.cos(angle), np.ones_like(angle)])
    normal = design.T @ design
    solution = np.linalg.lstsq(normal, design.T @ velocity, rcond=1e-10)[0]
    rest = velocity - design @ solution
    total = float(np.sum((velocity - np.mean(velocity)) ** 2))
    share = 1.0 - float(np.sum(rest * rest)) / total if total > 0 else 0.0
    return float(np.hypot(solution[0], solution[1])), share


def dominant_sine(time_s: FloatArray, velocity: FloatArray, asked_hz: float) -> tuple[float, float]:
    """The frequency whose sine explains most: scanned finely around the strongest line."""
    step_s = median(np.diff(time_s))
    grid = np.arange(time_s[0], time_s[-1], step_s)
    even = np.interp(grid, time_s, velocity)
    padded = int(2 ** np.ceil(np.log2(8 * max(grid.size, 8))))
    power = np.abs(np.fft.rfft(even - np.mean(even), padded))
    strongest = float(np.fft.rfftfreq(padded, step_s)[int(np.argmax(power))])
    width = 0.5 / max(float(time_s[-1] - time_s[0]), 1.0)
    near = np.linspace(max(strongest - width, 0.2 * asked_hz, 1e-4), strongest + width, 41)
    shares = [fitted_sine(time_s, velocity, float(frequency))[1] for frequency in near]
    best = int(np.argmax(shares))
    return float(near[best]), float(shares[best])


def _contradiction(key: str, found: str, expected: str) -> StimulusVerdict:
    return StimulusVerdict(contradiction=(key, found, expected))
