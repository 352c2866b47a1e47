"""Velocity steps: the responses to both changes of chair velocity, fitted jointly over the spin.

    v = b - k gaze - sum_i g_i (h_i * f(T_i, Ta))

Each change i of chair velocity (speeding up, stopping) has its own gain and decay; bias, gaze
slope and adaptation are shared. The motion is the chair's own, so that ramps cost nothing and
what is left of the first response is taken out of the second.
"""

from dataclasses import dataclass

import numpy as np

from slowphase.eye.slowphase import Pieces
from slowphase.foundation.arrays import BoolArray, FloatArray
from slowphase.measures.measure import Side
from slowphase.measures.reflex import Motion, at_pieces, blocks
from slowphase.measures.regression import Data, Fit, Model, Prior, robust_fit
from slowphase.measures.settings import MeasureSettings

BIAS, ADAPT, GAZE, FIRST = 0, 1, 2, 3


@dataclass(frozen=True, slots=True)
class Change:
    """One change of chair velocity: per- or post-rotatory, and the motion that it alone is.

    ``size_deg_s`` is signed (positive: accelerates to the right); ``start_s`` and ``stop_s``
    enclose the ramp; ``until_s`` is when the chair changes again or the recording ends.
    """

    of: str
    size_deg_s: float
    start_s: float
    stop_s: float
    motion: Motion
    until_s: float

    @property
    def exciting(self) -> Side:
        """The side that this change of velocity excites."""
        return "right" if self.size_deg_s > 0 else "left"


@dataclass(frozen=True, slots=True)
class StepFit:
    """A fitted spin: parameters are bias, log Ta, gaze slope, then gain and log T per change."""

    fit: Fit
    changes: tuple[Change, ...]
    outlying: BoolArray
    gaze_fixed: bool


@dataclass(frozen=True, slots=True)
class Response:
    """What one change of velocity alone would have caused in a patient at rest.

    ``peak_deg_s`` is the largest speed against the change, ``gain`` its ratio to the change,
    ``time_constant_s`` from the peak to 1/e of it, ``cumulative_deg`` the area up to the reversal,
    ``duration_s`` the time until the speed falls below 1 deg/s.
    """

    peak_deg_s: float
    gain: float
    time_constant_s: float
    duration_s: float
    cumulative_deg: float


def find_changes(motion: Motion) -> tuple[Change, ...]:
    """The changes of chair velocity in a spin, in order: ``per``, then ``post`` if it stopped.

    The plateau is the time spent within 10 % of the largest lasting speed; each change is the
    motion on its side of the plateau.
    """
    speed = np.abs(motion.velocity_deg_s)
    plateau = float(np.percentile(speed, 99)) if speed.size else 0.0
    # A chair that is at rest most of the recording still has its plateau above the percentile.
    high = np.flatnonzero(speed > 0.5 * max(plateau, 1e-9))
    if high.size == 0 or plateau < 2.0:
        return ()
    level = float(np.median(motion.velocity_deg_s[high]))
    near = np.flatnonzero(np.abs(motion.velocity_deg_s - level) < 0.1 * abs(level))
    middle = (near[0] + near[-1]) // 2
    first = motion.velocity_deg_s.copy()
    first[middle:] = level
    end = float(motion.time_s[-1])
    if speed[-1] >= 0.5 * abs(level):
        return (_change("per", level, first, motion, end),)
    second = motion.velocity_deg_s - first
    second[:middle] = 0.0
    stop = _change("post", -level, second, motion, end)
    return (_change("per", level, first, motion, stop.start_s), stop)


def _change(of: str, size: float, velocity: FloatArray, motion: Motion, until_s: float) -> Change:
    progress = velocity / size
    start, stop = (float(motion.time_s[int(np.argmax(progress > share))]) for share in (0.03, 0.97))
    return Change(of, size, start, stop, motion.with_velocity(velocity), until_s)


def fit_step(pieces: Pieces, changes: tuple[Change, ...], settings: MeasureSettings) -> StepFit:
    """Fit one spin jointly."""
    nodes = pieces.node_times_s()
    data = Data(
        pieces.velocity_deg_s,
        pieces.noise_deg_s,
        blocks(pieces, settings.cluster_s),
        np.ones(len(pieces)),
    )
    prior = step_prior(changes, settings)

    def model(parameters: FloatArray) -> FloatArray:
        return predict(parameters, changes, nodes, pieces.gaze_deg)

    fit = robust_fit(model, starting_point(model, data, changes, settings), data, prior, rounds=10)
    gaze_fixed = fit.parameters[GAZE] < 0
    if gaze_fixed:
        prior.sd[GAZE] = 1e-9
        start = fit.parameters.copy()
        start[GAZE] = 0.0
        fit = robust_fit(model, start, data, prior, rounds=10)
    return StepFit(fit, changes, fit.weight < 0.05, bool(gaze_fixed))


def step_prior(changes: tuple[Change, ...], settings: MeasureSettings) -> Prior:
    """Prior of the parameters; bias and gains are free."""
    size = FIRST + 2 * len(changes)
    mean, sd = np.zeros(size), np.full(size, np.inf)
    mean[ADAPT], sd[ADAPT] = np.log(settings.adaptation_s), settings.adaptation_log_sd
    sd[GAZE] = settings.gaze_slope_sd
    mean[FIRST + 1 :: 2] = np.log(settings.decay_s)
    sd[FIRST + 1 :: 2] = settings.decay_log_sd * 1.5
    return Prior(mean, sd)


def predict(
    parameters: FloatArray,
    changes: tuple[Change, ...],
    nodes_s: FloatArray,
    gaze_deg: FloatArray | float,
) -> FloatArray:
    """Slow-phase velocity at the nodes, averaged over each row of ``nodes_s``."""
    total = parameters[BIAS] - parameters[GAZE] * gaze_deg
    for index, change in enumerate(changes):
        gain, log_decay = parameters[FIRST + 2 * index : FIRST + 2 * index + 2]
        response = change.motion.response(
            float(np.exp(log_decay)), float(np.exp(parameters[ADAPT]))
        )
        total = total - gain * at_pieces(change.motion, response, nodes_s).mean(axis=-1)
    return np.asarray(total, dtype=float)


def starting_point(
    model: Model, data: Data, changes: tuple[Change, ...], settings: MeasureSettings
) -> FloatArray:
    """Best of a few decays, gains and bias by robust regression for each."""
    best, least = np.zeros(FIRST + 2 * len(changes)), np.inf
    for decay in (6.0, 12.0, 24.0):
        start = np.zeros(FIRST + 2 * len(changes))
        start[ADAPT] = np.log(settings.adaptation_s)
        start[FIRST + 1 :: 2] = np.log(decay)
        zero = model(start)
        columns = [np.ones_like(zero)]
        for index in range(len(changes)):
            unit = start.copy()
            unit[FIRST + 2 * index] = 1.0
            columns.append(model(unit) - zero)
        design = np.column_stack(columns)

        def line(p: FloatArray, design: FloatArray = design) -> FloatArray:
            return design @ p

        free = Prior(np.zeros(len(columns)), np.full(len(columns), np.inf))
        guess = robust_fit(line, np.zeros(len(columns)), data, free, rounds=3)
        size = float(np.median(np.abs(guess.residual)))
        if size < least:
            start[BIAS] = guess.parameters[0]
            start[FIRST::2] = guess.parameters[1:]
            best, least = start, size
    return best


def isolated_response(change: Change, gain: float, decay_s: float, adaptation_s: float) -> Response:
    """The response that the change alone causes, followed for as long as it needs.

    The peak lies on the ramp's end or shortly before it; 1/e and the reversal are found on a fine
    grid continued in closed form past the end of the recording.
    """
    rate = change.motion.rate_hz
    begin = max(0, int((change.start_s - change.motion.time_s[0]) * rate) - 2)
    ramp = change.motion.velocity_deg_s[begin:]
    tail = int(8 * decay_s * rate)
    held = np.concatenate([ramp, np.full(max(0, tail - ramp.size), change.size_deg_s)])
    curve = Motion(np.arange(held.size) / rate, held).response(decay_s, adaptation_s)
    curve = gain * curve / np.sign(change.size_deg_s)
    return describe_curve(curve, rate, abs(change.size_deg_s))


def describe_curve(curve: FloatArray, rate_hz: float, size_deg_s: float) -> Response:
    """Peak, gain, time to 1/e, duration and area of a response sampled at ``rate_hz``."""
    sign = 1.0 if curve[np.argmax(np.abs(curve))] >= 0 else -1.0
    curve = sign * curve
    top = int(np.argmax(curve))
    peak = float(curve[top])
    falling = curve[top:]
    down = _crossing(falling, peak / np.e) / rate_hz
    quiet = _crossing(falling, min(1.0, peak)) / rate_hz
    reversal = int(_crossing(falling, 0.0))
    area = float(np.sum(falling[: reversal + 1])) / rate_hz
    return Response(sign * peak, sign * peak / size_deg_s, down, quiet, sign * area)


def _crossing(falling: FloatArray, level: float) -> float:
    """Index, with fraction, at which a falling curve first goes below ``level``."""
    below = np.flatnonzero(falling < level)
    if below.size == 0:
        return float(falling.size - 1)
    after = int(below[0])
    if after == 0:
        return 0.0
    high, low = falling[after - 1], falling[after]
    return after - 1 + float((high - level) / (high - low))
