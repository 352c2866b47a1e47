"""What the chair did, where nobody wrote it down: trials, their kinds and stimuli, from its trace.

The trace is cut at rests. Each movement is held against a sinusoid, a spin at constant velocity and
short turns of the head; what fits none is ``other``. The rest after a spin belongs to it. A person
confirms what was recognised: a chair at rest tells neither calorics from gaze nor dark from light.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from itertools import pairwise

import numpy as np
from scipy.ndimage import uniform_filter1d

from slowphase.foundation.arrays import BoolArray, FloatArray
from slowphase.foundation.median import median
from slowphase.recording.stimulus_check import thinned

RATE_HZ = 50.0  # enough for 1 Hz sinusoids and for turns of 0.1 s
STILL_DEG_S = 2.0  # slower is rest
NOISES = 5.0  # … and so is what does not stand out of the noise by this factor
SMOOTH_S = 0.2
BLIP_S = 0.06  # shorter movements are artefacts
PAUSE_S, PAUSE_SHARE = 3.5, 0.25  # a sinusoid seems to rest when it turns: s, share of a half cycle
REST_S = 10.0  # shortest rest, and shortest spin, that is a trial
SPIN_DEG_S = 15.0  # slowest spin
AFTER_SPIN_S = 120.0  # the rest after a spin that is still its own
BEFORE_S = 5.0  # rest before a movement that is kept with it
PLATEAU_SHARE = 0.6  # share of a spin that must be within PLATEAU_WITHIN of its speed
PLATEAU_WITHIN = 0.1
IMPULSE_S = 0.6  # longest turn of a head impulse
IMPULSE_DEG_S = 50.0
IMPULSE_MOVING = 0.5  # the head rests for longer than it is thrust
IMPULSES_LEAST = 3
CYCLES_LEAST = 1.5
FIT_SURE, FIT_LEAST = 0.98, 0.9  # share of variance that a sinusoid explains
HALF_CYCLES_DIFFER = 1.25  # ratio of neighbouring half cycles that makes another trial


@dataclass(frozen=True, slots=True)
class Recognised:
    """One trial as the chair shows it: ``start_s`` to ``stop_s`` on the recording's clock.

    ``stimulus`` holds the keys of its kind (``frequency_hz``, ``peak_velocity_deg_s``,
    ``direction``, ``velocity_deg_s``). ``confidence`` (0–1) is that of the kind; ``reason`` says
    in words what was seen.
    """

    kind: str
    start_s: float
    stop_s: float
    confidence: float
    reason: str
    stimulus: Mapping[str, object] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class _Moves:
    time_s: FloatArray
    velocity_deg_s: FloatArray

    def part(self, start_s: float, stop_s: float) -> "_Moves":
        inside = (self.time_s >= start_s) & (self.time_s <= stop_s)
        return _Moves(self.time_s[inside], self.velocity_deg_s[inside])

    @property
    def seconds(self) -> float:
        return float(self.time_s[-1] - self.time_s[0]) if self.time_s.size else 0.0


def recognise(time_s: FloatArray, head_velocity_deg_s: FloatArray) -> tuple[Recognised, ...]:
    """The trials in a head-velocity trace of shape (n,), in order; empty without a usable one."""
    known = np.isfinite(head_velocity_deg_s) & np.isfinite(time_s)
    if known.sum() < 10 or float(np.ptp(time_s[known])) <= 0.0:
        return ()
    moves = _Moves(*thinned(time_s[known], head_velocity_deg_s[known], RATE_HZ))
    thrusts = _thrusts(moves)
    if thrusts >= IMPULSES_LEAST:
        said = f"{thrusts} short fast turns of the head"
        return (Recognised("impulse", _start(moves), _stop(moves), 0.8, said),)
    found = [
        trial for start, stop in _movements(moves) for trial in _named(moves.part(start, stop))
    ]
    return tuple(_with_rests(moves, found))


def _start(moves: _Moves) -> float:
    return float(moves.time_s[0])


def _stop(moves: _Moves) -> float:
    return float(moves.time_s[-1])


def _movements(moves: _Moves) -> list[tuple[float, float]]:
    """Start and stop (s) of each stretch in which the chair turns."""
    width = max(round(SMOOTH_S * RATE_HZ), 1)
    smooth = uniform_filter1d(moves.velocity_deg_s, width, mode="nearest")
    runs = _runs(np.abs(smooth) > _threshold(moves))
    runs = [(start, stop) for start, stop in runs if stop - start > width + BLIP_S * RATE_HZ]
    return [(float(moves.time_s[a]), float(moves.time_s[b - 1])) for a, b in _joined(runs)]


def _joined(runs: list[tuple[int, int]]) -> list[tuple[int, int]]:
    """Runs with those joined between which a sinusoid only turns.

    Counted in samples: lost ones are no rest.
    """
    joined: list[tuple[int, int]] = []
    last = 0
    for start, stop in runs:
        pause = max(PAUSE_S * RATE_HZ, PAUSE_SHARE * min(last, stop - start))
        if joined and start - joined[-1][1] < pause:
            joined[-1] = (joined[-1][0], stop)
        else:
            joined.append((start, stop))
        last = stop - start
    return joined


def _threshold(moves: _Moves) -> float:
    steps = np.diff(moves.velocity_deg_s)
    noise = 1.4826 * median(np.abs(steps - median(steps))) / np.sqrt(2.0) if steps.size else 0.0
    return max(STILL_DEG_S, NOISES * float(noise) / np.sqrt(SMOOTH_S * RATE_HZ))


def _runs(flags: BoolArray) -> list[tuple[int, int]]:
    edges = np.flatnonzero(np.diff(np.concatenate([[False], flags, [False]]).astype(np.int8)))
    return list(zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True))


def _thrusts(moves: _Moves) -> int:
    """How many short fast turns the head makes, mostly at rest between; 0 where it is otherwise."""
    fast = _runs(np.abs(moves.velocity_deg_s) > IMPULSE_DEG_S / 2.0)
    turns = [
        stop - start <= IMPULSE_S * RATE_HZ
        and float(np.max(np.abs(moves.velocity_deg_s[start:stop]))) >= IMPULSE_DEG_S
        for start, stop in fast
    ]
    moving = np.mean(np.abs(moves.velocity_deg_s) > _threshold(moves))
    return sum(turns) if sum(turns) >= 0.6 * len(turns) and moving < IMPULSE_MOVING else 0


def _named(moves: _Moves) -> Iterator[Recognised]:
    """The trials of one movement: a spin, one sinusoid or several in a row, or ``other``."""
    spin = _spin(moves)
    if spin is not None:
        yield spin
        return
    whole = _sinusoid(moves)
    if whole is not None and whole.confidence >= FIT_SURE:
        yield whole
        return
    parts = [_sinusoid(moves.part(start, stop)) for start, stop in _by_half_cycles(moves)]
    if len(parts) > 1 and all(parts):
        yield from (part for part in parts if part is not None)
    elif whole is not None:
        yield whole
    else:
        said = "a movement that is neither a sinusoid nor a spin at constant velocity"
        yield Recognised("other", _start(moves), _stop(moves), 0.5, said)


def _spin(moves: _Moves) -> Recognised | None:
    """A spin at constant velocity; None where the movement is none."""
    velocity = moves.velocity_deg_s
    speed = median(velocity[np.abs(velocity) >= 0.5 * np.max(np.abs(velocity))])
    steady = np.abs(velocity - speed) <= PLATEAU_WITHIN * abs(speed)
    if abs(speed) < SPIN_DEG_S or moves.seconds < REST_S or np.mean(steady) < PLATEAU_SHARE:
        return None
    direction = "right" if speed > 0.0 else "left"
    speed = float(abs(median(velocity[steady])))
    said = f"turns to the {direction} at {speed:.0f} deg/s for {moves.seconds:.0f} s"
    stimulus = {"direction": direction, "velocity_deg_s": _rounded(speed)}
    confidence = 0.95 if np.mean(steady) > 0.8 else 0.7  # slow ramps leave less of the plateau
    return Recognised("step", _start(moves), _stop(moves), confidence, said, stimulus)


def _sinusoid(moves: _Moves) -> Recognised | None:
    """The sinusoid that explains most of a movement; None where none does, or too few cycles."""
    if moves.time_s.size < 20:
        return None
    frequency = _frequency_hz(moves)
    amplitude, explained = _fit(moves, frequency)
    if explained < FIT_LEAST or frequency * moves.seconds < CYCLES_LEAST:
        return None
    cycles = frequency * moves.seconds
    said = f"{cycles:.1f} cycles of a sinusoid, {frequency:.3g} Hz, peak {amplitude:.0f} deg/s"
    stimulus = {
        "frequency_hz": _rounded(frequency),
        "peak_velocity_deg_s": _rounded(amplitude),
    }
    return Recognised("sinusoid", _start(moves), _stop(moves), float(explained), said, stimulus)


def _frequency_hz(moves: _Moves) -> float:
    """The frequency whose sinusoid explains most, near the strongest line of the spectrum."""
    from scipy.optimize import minimize_scalar

    velocity = moves.velocity_deg_s - np.mean(moves.velocity_deg_s)
    size = 8 * velocity.size
    lines = np.abs(np.fft.rfft(velocity, size))
    step = (velocity.size - 1) / moves.seconds / size
    first = step * float(np.argmax(lines[1:]) + 1)
    width = 0.5 / moves.seconds
    found = minimize_scalar(
        lambda frequency: -_fit(moves, frequency)[1],
        bounds=(max(first - width, 0.1 * first), first + width),
        method="bounded",
        options={"xatol": 1e-5 * first},
    )
    return float(found.x)


def _fit(moves: _Moves, frequency_hz: float) -> tuple[float, float]:
    """Amplitude (deg/s) of the best sinusoid of a frequency, and the variance it explains."""
    angle = 2.0 * np.pi * frequency_hz * moves.time_s
    design = np.column_stack([np.sin(angle), np.cos(angle), np.ones_like(angle)])
    weights = np.linalg.lstsq(design, moves.velocity_deg_s, rcond=None)[0]
    left = moves.velocity_deg_s - design @ weights
    spread = float(np.var(moves.velocity_deg_s))
    explained = 1.0 - float(np.var(left)) / spread if spread > 0.0 else 0.0
    return float(np.hypot(weights[0], weights[1])), explained


def _by_half_cycles(moves: _Moves) -> Iterator[tuple[float, float]]:
    """Stretches (s) whose half cycles last equally long, between crossings of zero.

    What is there of the first and last half cycle belongs to the nearest stretch.
    """
    crossings = _crossings(moves)
    lengths = np.diff(crossings)
    if lengths.size < 2:
        return
    ratio = lengths[1:] / lengths[:-1]
    other = (ratio > HALF_CYCLES_DIFFER) | (ratio < 1.0 / HALF_CYCLES_DIFFER)
    edges = [_start(moves), *crossings[1:-1][other].tolist(), _stop(moves)]
    yield from ((start, stop) for start, stop in pairwise(edges) if stop > start)


def _crossings(moves: _Moves) -> FloatArray:
    """Where the velocity turns from one side of rest to the other (s)."""
    side = np.sign(moves.velocity_deg_s) * (np.abs(moves.velocity_deg_s) > _threshold(moves))
    known = np.flatnonzero(side)
    turned = np.flatnonzero(np.diff(side[known])) if known.size else np.array([], dtype=int)
    middle: FloatArray = (moves.time_s[known[turned]] + moves.time_s[known[turned + 1]]) / 2.0
    return middle


def _with_rests(moves: _Moves, found: list[Recognised]) -> Iterator[Recognised]:
    """The trials with the rests between them; a spin keeps the rest that follows it."""
    at = _start(moves)
    ends = [*(trial.start_s for trial in found[1:]), _stop(moves)]
    for trial, limit in zip(found, ends, strict=False):
        start = max(at, trial.start_s - BEFORE_S)
        if start - at >= REST_S:
            yield _rest(at, start, alone=False)
        at = trial.stop_s
        if trial.kind == "step":
            at = min(limit, trial.stop_s + AFTER_SPIN_S)
        yield replace(trial, start_s=start, stop_s=at)
    if _stop(moves) - at >= REST_S or not found:
        yield _rest(at, _stop(moves), alone=not found)


def _rest(start_s: float, stop_s: float, *, alone: bool) -> Recognised:
    """The chair at rest, which looks alike in several tests."""
    said = "the chair rests: nystagmus, gaze, calorics and tests with a target look alike"
    return Recognised("spontaneous", start_s, stop_s, 0.4 if alone else 0.5, said)


def _rounded(value: float) -> float:
    """Three significant digits: what a chair is asked for, not the last digit of what it did."""
    return float(f"{value:.3g}")
