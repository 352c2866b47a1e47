"""Sinusoidal rotation: one reflex per direction, fitted to the measured motion of the chair.

    v = b - g_R f([u_R]+) + g_L f([u_L]-) - k gaze,   f(u) = u - c u³ / peak²

u_R and u_L are head velocity from rest, filtered by s²·T·Ta/((1+sT)(1+sTa)) with each direction's
own T and shifted by a phase of its own. Real reflexes bend: f saturates a
little, or starts late. Start-up and adaptation transients are therefore part of
the model, and the steady state is read off its parameters, not projected from few cycles.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from slowphase.eye.slowphase import Pieces
from slowphase.foundation.arrays import BoolArray, FloatArray
from slowphase.foundation.median import median
from slowphase.measures.lapses import find_lapses, hides_lapses
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
from slowphase.measures.steady import SteadyState, steady_of

LAPSE_ROUNDS = 4  # iterations: lapses are looked for again with the better model
BIAS, RIGHT, LEFT, DECAY, RATIO, ADAPT, PHASE, PHASE_DIFF, GAZE, BEND = range(10)
WAYS = (1.0, -1.0)  # right excited, left excited


@dataclass(frozen=True, slots=True)
class SinusoidFit:
    """A fitted sinusoidal trial.

    ``fit`` holds the parameters in the order of this module's constants; ``lapse`` marks pieces
    left out as lapses; ``spread`` is the scatter of the response's local strength; ``modulated``
    and ``predicted`` (shape (p,)) are the response without bias and gaze term, measured and fitted.
    """

    fit: Fit
    frequency_hz: float
    peak_deg_s: float
    lapse: BoolArray
    spread: float
    modulated: FloatArray
    predicted: FloatArray

    def steady(self, parameters: FloatArray | None = None) -> SteadyState:
        """The steady state of the fitted (or of other) parameters."""
        return steady_state(
            self.fit.parameters if parameters is None else parameters, self.frequency_hz
        )


def steady_state(parameters: FloatArray, frequency_hz: float) -> SteadyState:
    """The steady state that a parameter vector stands for."""
    return steady_of(both_directions(parameters, frequency_hz), frequency_hz)


def both_directions(parameters: FloatArray, frequency_hz: float) -> FloatArray:
    """The ten parameters of `two_directions` that a parameter vector stands for."""
    half = 0.5 * np.array([1.0, -1.0])
    decays = parameters[DECAY] + half * parameters[RATIO]
    shifts = parameters[PHASE] + half * parameters[PHASE_DIFF]
    still = parameters[[BIAS, GAZE, BEND, RIGHT, LEFT]]
    leads = shifts / (2 * np.pi * frequency_hz)
    return np.concatenate([still, decays, parameters[[ADAPT]], leads])


def fit_sinusoid(
    pieces: Pieces,
    motion: Motion,
    frequency_hz: float,
    peak_deg_s: float,
    settings: MeasureSettings,
) -> SinusoidFit:
    """Fit one sinusoidal trial, leaving out lapses of alertness.

    ``peak_deg_s`` is the measured peak head velocity. Works from any number of cycles, part of
    one included.
    """
    prior = sinusoid_prior(settings)
    drive = Drive(motion, pieces.node_times_s())
    data = data_of(pieces, settings)
    model = SinusoidModel(drive, frequency_hz, pieces.gaze_deg)
    start = robust_point(model, starting_point(data, drive, settings), data, prior, still=ROUGH)
    held = hold_gaze(start)

    def fit_kept(begin: FloatArray, kept: Data) -> Fit:
        return robust_fit(
            model,
            begin,
            kept,
            prior,
            near=True,
            held=held,
            strengths=(BIAS, RIGHT, LEFT),
        )

    fit = fit_kept(start, data)
    result = _with_response(fit, model, data, pieces, frequency_hz, peak_deg_s)
    if settings.unseen > 0 and hides_lapses(result.predicted, settings):
        fit = fit_kept(fit.parameters, data.hiding_lapses(settings.unseen))
        return _with_response(fit, model, data, pieces, frequency_hz, peak_deg_s)
    return _without_lapses(result, fit_kept, model, data, pieces, settings)


def hold_gaze(start: FloatArray) -> tuple[int, ...]:
    """Sets a gaze slope below 0 to 0, in place, and returns the indices to hold there."""
    if start[GAZE] >= 0:
        return ()
    start[GAZE] = 0.0
    return (GAZE,)


def sinusoid_prior(settings: MeasureSettings) -> Prior:
    """Prior of the ten parameters; bias and gains are free."""
    mean = np.zeros(10)
    mean[DECAY], mean[ADAPT] = np.log(settings.decay_s), np.log(settings.adaptation_s)
    sd = np.full(10, np.inf)
    sd[DECAY], sd[ADAPT] = settings.decay_log_sd, settings.adaptation_log_sd
    sd[RATIO] = settings.side_decay_log_sd
    sd[PHASE] = np.radians(settings.phase_sd_deg)
    sd[PHASE_DIFF] = np.radians(settings.side_phase_sd_deg)
    sd[GAZE] = settings.gaze_slope_sd
    sd[BEND] = settings.bend_sd
    return Prior(mean, sd)


@dataclass(frozen=True, slots=True)
class SinusoidModel:
    """Slow-phase velocity at the nodes of ``drive``, averaged over each row of nodes, shape (p,).

    ``gaze_deg`` (p,) is eye position, or 0.
    """

    drive: Drive
    frequency_hz: float
    gaze_deg: FloatArray | float

    def __call__(self, parameters: FloatArray) -> FloatArray:
        """Prediction for the ten parameters."""
        right, left = (
            self._bent(self.drive.half(way, *self._arguments(parameters, way)), parameters[BEND])
            for way in WAYS
        )
        moved = parameters[LEFT] * left - parameters[RIGHT] * right
        return np.asarray(parameters[BIAS] + moved - parameters[GAZE] * self.gaze_deg)

    def jacobian(self, parameters: FloatArray) -> FloatArray:
        """Derivatives with respect to the ten parameters, shape (p, 10)."""
        drive, bend = self.drive, parameters[BEND]
        columns = np.zeros((drive.nodes_s.shape[0], parameters.size))
        columns[:, BIAS], columns[:, GAZE] = 1.0, -np.asarray(self.gaze_deg)
        for way, strength in zip(WAYS, (RIGHT, LEFT), strict=True):
            at = self._arguments(parameters, way)
            half = drive.half(way, *at)
            gain, share = -way * parameters[strength], half / drive.motion.peak_deg_s
            columns[:, strength] = -way * self._bent(half, bend)
            columns[:, BEND] -= gain * averaged(half * share**2)
            steepness = gain * (1.0 - 3.0 * bend * share**2)
            by_decay, by_adaptation, by_lead = (
                averaged(steepness * slope) for slope in drive.half_derivatives(way, at)
            )
            by_phase = by_lead / (2 * np.pi * self.frequency_hz)
            columns[:, ADAPT] += by_adaptation
            columns[:, DECAY] += by_decay
            columns[:, RATIO] += 0.5 * way * by_decay
            columns[:, PHASE] += by_phase
            columns[:, PHASE_DIFF] += 0.5 * way * by_phase
        return columns

    def _arguments(self, parameters: FloatArray, way: float) -> tuple[float, float, float]:
        """Logarithms of one direction's decay and of adaptation, and its lead (s)."""
        shift = parameters[PHASE] + 0.5 * way * parameters[PHASE_DIFF]
        return (
            float(parameters[DECAY] + 0.5 * way * parameters[RATIO]),
            float(parameters[ADAPT]),
            float(shift / (2 * np.pi * self.frequency_hz)),
        )

    def _bent(self, half: FloatArray, bend: float) -> FloatArray:
        """Half waves below a straight line by ``bend`` at the chair's peak speed, averaged."""
        return averaged(half * (1.0 - bend * (half / self.drive.motion.peak_deg_s) ** 2))


def starting_point(data: Data, drive: Drive, settings: MeasureSettings) -> FloatArray:
    """First guess: a robust straight-line regression on the response of an average reflex."""
    unit = averaged(drive(settings.decay_s, settings.adaptation_s))

    def line(parameters: FloatArray) -> FloatArray:
        return parameters[0] - parameters[1] * unit

    guess = robust_point(line, np.array([median(data.observed), 0.5]), data, no_prior(2))
    start = np.zeros(10)
    start[BIAS], start[RIGHT], start[LEFT] = guess[[0, 1, 1]]
    start[DECAY], start[ADAPT] = np.log(settings.decay_s), np.log(settings.adaptation_s)
    return start


def _with_response(
    fit: Fit,
    model: Model,
    data: Data,
    pieces: Pieces,
    frequency_hz: float,
    peak_deg_s: float,
) -> SinusoidFit:
    parameters = fit.parameters
    still = parameters[BIAS] - parameters[GAZE] * pieces.gaze_deg
    return SinusoidFit(
        fit=fit,
        frequency_hz=frequency_hz,
        peak_deg_s=peak_deg_s,
        lapse=np.zeros(len(pieces), dtype=bool),
        spread=0.0,
        modulated=data.observed - still,
        predicted=model(parameters) - still,
    )


def _without_lapses(
    result: SinusoidFit,
    fit_kept: Callable[[FloatArray, Data], Fit],
    model: Model,
    data: Data,
    pieces: Pieces,
    settings: MeasureSettings,
) -> SinusoidFit:
    """Look for lapses, refit without them, and look again with the better model.

    Where they would be more than may be left out, the fit to all of the trial stands.
    """
    whole = result
    for _ in range(LAPSE_ROUNDS):
        found, spread = find_lapses(
            pieces.time_s, result.modulated, result.predicted, result.fit, data.noise, settings
        )
        if np.sum(pieces.duration_s[found]) > settings.lapse_share_max * pieces.duration_s.sum():
            nothing = np.zeros(len(pieces), dtype=bool)
            return replace(whole, spread=max(spread, settings.drowsy_spread), lapse=nothing)
        if np.array_equal(found, result.lapse):
            return replace(result, spread=spread)
        kept = data.without(found)
        fit = fit_kept(result.fit.parameters, kept)
        new = _with_response(fit, model, data, pieces, result.frequency_hz, result.peak_deg_s)
        result = replace(new, lapse=found, spread=spread)
    return result
