"""Velocity steps: the responses to both changes of chair velocity, fitted jointly over the spin.

    v = b - g_R [u_R]+ + g_L [u_L]- - k gaze

u_R and u_L are the chair's whole motion filtered by s²·T·Ta/((1+sT)(1+sTa)), each with the decay
of its own exciting direction. Speeding up excites one side and stopping the other, so each change
has its own gain and decay; bias, gaze slope and adaptation are shared. The motion is the chair's
own, so that ramps cost nothing and what is left of the first response is taken out of the second.
"""

from dataclasses import dataclass, replace

import numpy as np

from slowphase.eye.noise import robust_sd
from slowphase.eye.slowphase import Pieces
from slowphase.foundation.arrays import BoolArray, FloatArray
from slowphase.foundation.median import median, quantile
from slowphase.measures.lapses import find_dips, find_falls, median_within
from slowphase.measures.measure import Side
from slowphase.measures.model import Model
from slowphase.measures.reflex import Drive, Motion, averaged, data_of
from slowphase.measures.regression import (
    ROUGH,
    Data,
    Fit,
    Prior,
    no_prior,
    robust_fit,
    robust_point,
)
from slowphase.measures.settings import MeasureSettings

BIAS, ADAPT, GAZE, LATE, FIRST = range(5)
LAPSE_ROUNDS = 3  # iterations: lapses are looked for again with the better model
SMOOTH_S = 0.1  # smoothing of chair velocity, taken back out of the ramp's ends


@dataclass(frozen=True, slots=True)
class Change:
    """One change of chair velocity: per- or post-rotatory.

    ``size_deg_s`` is signed (positive: accelerates to the right); ``start_s`` and ``stop_s`` are
    the ends of its ramp; ``until_s`` is when the chair changes again or the recording ends.
    """

    of: str
    size_deg_s: float
    start_s: float
    stop_s: float
    until_s: float

    @property
    def exciting(self) -> Side:
        """The side that this change of velocity excites."""
        return "right" if self.size_deg_s > 0 else "left"

    def velocity_deg_s(self, time_s: FloatArray) -> FloatArray:
        """The change alone, as a straight ramp, shape of ``time_s``."""
        ramp_s = max(self.stop_s - self.start_s, 1e-3)
        return self.size_deg_s * np.clip((time_s - self.start_s) / ramp_s, 0.0, 1.0)


@dataclass(frozen=True, slots=True)
class StepFit:
    """A fitted spin: parameters are bias, log Ta, gaze slope, latency (s), then gain and log T per
    change.

    ``lapse`` (p,) marks the pieces that were left out as lapses of alertness.
    """

    fit: Fit
    changes: tuple[Change, ...]
    lapse: BoolArray

    def response_parameters(self, index: int) -> tuple[float, float, float]:
        """Gain, decay (s) and adaptation (s) of one response."""
        return response_parameters(self.fit.parameters, index)


def from_rest(motion: Motion, settings: MeasureSettings) -> Motion:
    """The motion less what the chair's sensor shows at rest.

    A chair that turns already when the recording begins has turned so for long: to the canals
    that is rest, and its velocity is taken away like the offset of a sensor.
    """
    velocity = motion.velocity_deg_s
    first = velocity[: max(1, int(settings.turning_window_s * motion.rate_hz))]
    largest = quantile(np.abs(velocity), 0.99)
    start = median(first)
    if abs(start) > settings.turning_share * largest:
        return Motion(motion.time_s, velocity - start, began_turning=True)
    resting = np.abs(velocity - start) <= settings.turning_share * largest
    return motion.with_velocity(velocity - median(velocity[resting]))


def find_changes(motion: Motion, settings: MeasureSettings) -> tuple[Change, ...]:
    """The changes of chair velocity in a spin, in order: ``per``, then ``post`` if it stopped.

    The plateau is the middle of the time spent beyond half of the largest lasting speed. A
    recording that begins on the plateau (see `from_rest`) has the stop alone.
    """
    velocity = smoothed(motion.velocity_deg_s, max(1, round(SMOOTH_S * motion.rate_hz)))
    largest = quantile(np.abs(velocity), 0.99) if velocity.size else 0.0
    high = np.flatnonzero(np.abs(velocity) > 0.5 * max(largest, 1e-9))
    if high.size == 0 or largest < settings.step_slowest_deg_s:
        return ()
    level = median(motion.velocity_deg_s[high])
    end = float(motion.time_s[-1])
    if motion.began_turning:
        return _known(_change("post", level, velocity / level, motion.time_s, end))
    middle = int(np.median(high))
    per = velocity[:middle] / level
    first = _change("per", level, per, motion.time_s[:middle], end)
    if abs(velocity[-1]) >= 0.5 * abs(level):
        return _known(first)
    post = 1.0 - velocity[middle:] / level
    second = _change("post", -level, post, motion.time_s[middle:], end)
    if first is not None and second is not None:
        first = replace(first, until_s=second.start_s)
    return _known(first, second)


def _known(*changes: Change | None) -> tuple[Change, ...]:
    return tuple(change for change in changes if change is not None)


def smoothed(values: FloatArray, size: int) -> FloatArray:
    """Moving average over ``size`` values (made odd), edges repeated, shape (n,)."""
    half = size // 2
    padded = np.pad(values, half, mode="edge")
    return np.convolve(padded, np.ones(2 * half + 1) / (2 * half + 1), mode="valid")


def _change(
    of: str, size: float, progress: FloatArray, time_s: FloatArray, until_s: float
) -> Change | None:
    """The change whose ``progress`` goes from 0 to 1; None where it never passes through both ends.

    The ramp's ends are those of the straight line through its tenth and its ninth tenth.
    """
    half = int(np.argmax(progress > 0.5))
    low = np.flatnonzero(progress[:half] < 0.1)
    high = np.flatnonzero(progress[half:] > 0.9)
    if low.size == 0 or high.size == 0:
        return None
    early, late = time_s[low[-1]], time_s[half + high[0]]
    slack = (late - early) / 8 - SMOOTH_S / 5
    return Change(of, size, float(early - slack), float(late + slack), until_s)


def fit_step(
    pieces: Pieces, motion: Motion, changes: tuple[Change, ...], settings: MeasureSettings
) -> StepFit:
    """Fit one spin jointly, leaving out lapses of alertness."""
    drive = Drive(motion, pieces.node_times_s())
    data = data_of(pieces, settings)
    prior = step_prior(changes, settings)
    model = StepModel(drive, changes, pieces.gaze_deg)
    strengths = (BIAS, *range(FIRST, prior.mean.size, 2))

    def fit_kept(kept: Data) -> Fit:
        # From anew each time: beside a fit to lapses, what is alert would look like outliers.
        begin = starting_point(model, kept, changes, settings)
        start = robust_point(model, begin, kept, prior, still=ROUGH)
        held: tuple[int, ...] = ()
        if start[GAZE] < 0:
            start[GAZE], held = 0.0, (GAZE,)
        return robust_fit(model, start, kept, prior, near=True, held=held, strengths=strengths)

    fit = fit_kept(data)
    lapse = np.zeros(len(pieces), dtype=bool)
    for _ in range(LAPSE_ROUNDS):
        found = find_step_lapses(pieces, fit, changes, settings)
        if np.array_equal(found, lapse) or np.mean(found) > settings.lapse_share_max:
            break
        lapse = found
        fit = fit_kept(data.without(lapse))
    return StepFit(fit, changes, lapse)


def find_step_lapses(
    pieces: Pieces, fit: Fit, changes: tuple[Change, ...], settings: MeasureSettings
) -> BoolArray:
    """Pieces in which a decaying response sinks and comes back or falls at once, shape (p,)."""
    still = fit.parameters[BIAS] - fit.parameters[GAZE] * pieces.gaze_deg
    error = quiet_wandering(pieces, fit, changes, settings)
    lapse = np.zeros(len(pieces), dtype=bool)
    for change in changes:
        inside = (pieces.time_s >= change.stop_s) & (pieces.time_s < change.until_s)
        speed = -np.sign(change.size_deg_s) * (pieces.velocity_deg_s - still)[inside]
        missing = np.sign(change.size_deg_s) * fit.residual[inside]
        lapse[inside] = find_dips(pieces.time_s[inside], speed, error, settings)
        lapse[inside] |= find_falls(
            pieces.time_s[inside], speed + missing, missing, error, settings
        )
    return lapse


def quiet_wandering(
    pieces: Pieces, fit: Fit, changes: tuple[Change, ...], settings: MeasureSettings
) -> float:
    """SD (deg/s) of the eye's slow wandering, read while no response is strong.

    A lapse under a strong response would pass for wandering.
    """
    drift = float(np.hypot(fit.noise.drift_deg_s, fit.scatter))
    quiet = quiet_times(pieces.time_s, changes, settings)
    if quiet.sum() < settings.step_quiet_pieces_min:
        return drift
    smooth = median_within(pieces.time_s, fit.residual, settings.lapse_window_s)
    return min(drift, max(robust_sd(smooth[quiet]), settings.step_wander_min_deg_s))


def quiet_times(
    time_s: FloatArray, changes: tuple[Change, ...], settings: MeasureSettings
) -> BoolArray:
    """Times at which no response is strong, shape of ``time_s``."""
    quiet = np.ones(time_s.size, dtype=bool)
    for change in changes:
        until_s = change.stop_s + settings.step_loud_s
        quiet &= (time_s < change.start_s) | (time_s > until_s)
    return quiet


def response_parameters(parameters: FloatArray, index: int) -> tuple[float, float, float]:
    """Gain, decay (s) and adaptation (s) of response ``index``."""
    gain, log_decay = parameters[FIRST + 2 * index : FIRST + 2 * index + 2]
    return float(gain), float(np.exp(log_decay)), float(np.exp(parameters[ADAPT]))


def step_prior(changes: tuple[Change, ...], settings: MeasureSettings) -> Prior:
    """Prior of the parameters; bias and gains are free."""
    size = FIRST + 2 * len(changes)
    mean, sd = np.zeros(size), np.full(size, np.inf)
    mean[ADAPT], sd[ADAPT] = np.log(settings.adaptation_s), settings.adaptation_log_sd
    sd[GAZE] = settings.gaze_slope_sd
    mean[LATE], sd[LATE] = settings.latency_s, settings.latency_sd_s
    mean[FIRST + 1 :: 2] = np.log(settings.decay_s)
    sd[FIRST + 1 :: 2] = settings.decay_log_sd * settings.step_decay_widening
    return Prior(mean, sd)


@dataclass(frozen=True, slots=True)
class StepModel:
    """Slow-phase velocity at the nodes of ``drive``, averaged over each row of nodes, shape (p,).

    A direction that the spin does not excite by a change of its own (a spin that was never
    stopped) shares the other one's gain and decay. ``gaze_deg`` (p,) is eye position, or 0.
    """

    drive: Drive
    changes: tuple[Change, ...]
    gaze_deg: FloatArray | float

    def __call__(self, parameters: FloatArray) -> FloatArray:
        """Prediction for the shared parameters and two per change."""
        total = parameters[BIAS] - parameters[GAZE] * self.gaze_deg
        for way in (1.0, -1.0):
            half = self.drive.half(way, *self._arguments(parameters, way))
            total = total - way * parameters[own_gain(self.changes, way)] * averaged(half)
        return np.asarray(total, dtype=float)

    def _arguments(self, parameters: FloatArray, way: float) -> tuple[float, float, float]:
        """Logarithms of one direction's decay and of adaptation, and its lead (s)."""
        log_decay = parameters[own_gain(self.changes, way) + 1]
        return float(log_decay), float(parameters[ADAPT]), -float(parameters[LATE])


def own_gain(changes: tuple[Change, ...], way: float) -> int:
    """Index of the gain that serves one direction; its log decay comes next."""
    own = [i for i, change in enumerate(changes) if change.size_deg_s * way > 0]
    return FIRST + 2 * (own[0] if own else 0)


def both_directions(parameters: FloatArray, changes: tuple[Change, ...]) -> FloatArray:
    """The ten parameters of `two_directions` that a parameter vector stands for."""
    gains = np.array([own_gain(changes, way) for way in (1.0, -1.0)])
    lead = -parameters[LATE]
    still = [parameters[BIAS], parameters[GAZE], 0.0]
    return np.concatenate(
        [still, parameters[gains], parameters[gains + 1], parameters[[ADAPT]], [lead, lead]]
    )


def starting_point(
    model: Model, data: Data, changes: tuple[Change, ...], settings: MeasureSettings
) -> FloatArray:
    """Best of a few decays, gains and bias by robust regression for each."""
    best, least = np.zeros(FIRST + 2 * len(changes)), np.inf
    for decay in (6.0, 12.0, 24.0):
        start = np.zeros(FIRST + 2 * len(changes))
        start[ADAPT], start[LATE] = np.log(settings.adaptation_s), settings.latency_s
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

        guess = robust_point(line, np.zeros(len(columns)), data, no_prior(len(columns)))
        size = median(np.abs(data.observed - line(guess)))
        if size < least:
            start[BIAS] = guess[0]
            start[FIRST::2] = guess[1:]
            best, least = start, size
    return best
