"""The slow phase of one irrigation as a smooth curve of time.

    v = F(t)·(b + a·(t − t0) + s(t)) − k·gaze

b is the spontaneous nystagmus, s the response: a cubic spline that is 0 up to t0, shortly after the
water or air began to flow, and may set out at any slope. F is 1, and f while a target is fixated.
Where it is not known when the irrigation began, t0 is the start of the recording and a slope a is
free; else a = 0. The bends of the spline from knot to knot have a wide normal prior around 0, which
carries the curve over gaps.
"""

from dataclasses import dataclass, replace

import numpy as np

from slowphase.eye.slowphase import Pieces
from slowphase.foundation.arrays import BoolArray, FloatArray
from slowphase.foundation.median import median
from slowphase.measures.caloric_settings import CaloricSettings
from slowphase.measures.prepare import Prepared
from slowphase.measures.reflex import data_of
from slowphase.measures.regression import HELD_SD, Data, Fit, Prior, robust_fit

GAZE, FACTOR, LEVEL, SLOPE, BENDS = range(5)  # places of the parameters; the bends come last
SETTING_OUT = 2  # the first bends: at t0, of slope and of curvature
GRID_HZ = 4.0  # of the curve: 28 points from knot to knot


@dataclass(frozen=True, slots=True)
class Irrigation:
    """When what happened, on the recording's clock; None where the trial does not tell.

    ``flow_s`` is the irrigation (from, to) and ``fixation_s`` the fixated target.
    """

    flow_s: tuple[float, float | None] | None
    fixation_s: tuple[float, float] | None


def cardinal_spline(place: FloatArray) -> FloatArray:
    """The cubic B-spline of knots 0, 1, 2, 3, 4, any shape; 0 outside."""
    near = np.maximum(2.0 - np.abs(place - 2.0), 0.0)  # from either end inward, 0 to 2
    outer = near**3 / 6.0
    return outer - np.where(near > 1.0, 4.0 / 6.0 * (near - 1.0) ** 3, 0.0)


def bend_basis(since: FloatArray, count: int) -> FloatArray:
    """Curves (p, count), each with one bend: 0 up to its knot, then rising as a straight line.

    ``since`` (p,) counts in knots. The sums of sums of cardinal splines, so that the factors are
    second differences.
    """
    place = since[:, None] - np.arange(count)[None, :]
    splines = cardinal_spline(place)
    once = np.cumsum(splines[:, ::-1], axis=1)
    return np.asarray(np.cumsum(once, axis=1)[:, ::-1])


@dataclass(frozen=True, slots=True)
class CurveModel:
    """Slow phase at the pieces for parameters (k,): gaze slope, factor, level, slope, bends.

    ``curve`` (p, k − 2) holds the derivatives of the curve by level, slope and bends (the first two
    of which are how the response sets out),
    ``fixating`` (p,) where the target is seen, ``gaze_deg`` (p,) where the eye is.
    """

    curve: FloatArray
    fixating: BoolArray
    gaze_deg: FloatArray

    def __call__(self, parameters: FloatArray) -> FloatArray:
        """Predicted velocities, shape (p,)."""
        factor = np.where(self.fixating, parameters[FACTOR], 1.0)
        return factor * (self.curve @ parameters[LEVEL:]) - parameters[GAZE] * self.gaze_deg

    def jacobian(self, parameters: FloatArray) -> FloatArray:
        """Derivatives of the predictions, shape (p, k)."""
        factor = np.where(self.fixating, parameters[FACTOR], 1.0)
        by_factor = np.where(self.fixating, self.curve @ parameters[LEVEL:], 0.0)
        return np.column_stack([-self.gaze_deg, by_factor, factor[:, None] * self.curve])


@dataclass(frozen=True, slots=True)
class Curve:
    """The fitted curve of one irrigation.

    ``onset_s`` is t0, ``time_s`` (g,) an even grid; ``design`` (g, k − 2) gives the curve there
    from the parameters behind `LEVEL`. ``seen_s`` (g,) is how much slow phase without fixation
    each step of the grid stands on; ``before_s`` how much lies before t0, ``fixated_s`` how much
    during fixation. ``anchored`` says whether b is that of the time before the response.
    """

    fit: Fit
    onset_s: float
    time_s: FloatArray
    design: FloatArray
    seen_s: FloatArray
    before_s: float
    fixated_s: float
    anchored: bool

    @property
    def whole_deg_s(self) -> FloatArray:
        """Slow phase with the eye straight ahead and without fixation, shape (g,)."""
        return self.design @ self.fit.parameters[LEVEL:]

    @property
    def level_deg_s(self) -> float:
        """The spontaneous nystagmus b."""
        return float(self.fit.parameters[LEVEL])

    def estimate(self, factors: FloatArray) -> tuple[float, float]:
        """A weighted sum of the parameters behind `LEVEL` and its standard error."""
        covariance = self.fit.covariance[LEVEL:, LEVEL:]
        value = float(factors @ self.fit.parameters[LEVEL:])
        return value, max(float(factors @ covariance @ factors), 0.0) ** 0.5


def fit_curve(prepared: Prepared, irrigation: Irrigation, settings: CaloricSettings) -> Curve:
    """The curve of one irrigation, robust against overlooked quick phases."""
    pieces, time_s = prepared.pieces, prepared.recording.time_s
    onset_s, end_s = onset_of(irrigation, time_s, settings), float(time_s[-1])
    count = max(int(np.ceil((end_s - onset_s) / settings.knot_s)), 1)
    fixating, settling = fixated(pieces.time_s, irrigation, settings)
    before_s = float(pieces.duration_s[(pieces.time_s < onset_s) & ~settling].sum())
    fixated_s = float(pieces.duration_s[fixating].sum())
    anchored = irrigation.flow_s is not None and before_s >= settings.before_min_s
    design = curve_design(pieces.time_s, onset_s, count, settings)
    model = CurveModel(design, fixating, pieces.gaze_deg)
    prior = curve_prior(count, prepared, anchored, fixated_s > 0.0, settings)
    fit = fitted(model, data_without(pieces, settling, prepared), prior)
    grid = np.arange(float(time_s[0]), end_s, 1.0 / GRID_HZ)
    free = ~fixating & ~settling & (fit.weight > 0)
    return Curve(
        fit=fit,
        onset_s=onset_s,
        time_s=grid,
        design=curve_design(grid, onset_s, count, settings),
        seen_s=seconds_on(grid, pieces, free),
        before_s=before_s,
        fixated_s=fixated_s,
        anchored=anchored,
    )


def onset_of(irrigation: Irrigation, time_s: FloatArray, settings: CaloricSettings) -> float:
    """The moment up to which there is no response; the recording's start where it is unknown."""
    if irrigation.flow_s is None:
        return float(time_s[0])
    return max(irrigation.flow_s[0] + settings.warming_s, float(time_s[0]))


def curve_design(
    time_s: FloatArray, onset_s: float, count: int, settings: CaloricSettings
) -> FloatArray:
    """Level, slope, setting out and bends at these times, shape (p, count + 4)."""
    since = (time_s - onset_s) / settings.knot_s
    after = np.maximum(since, 0.0)
    bends = bend_basis(since, count)
    return np.column_stack([np.ones(since.size), since, after, after**2, bends])


def fixated(
    time_s: FloatArray, irrigation: Irrigation, settings: CaloricSettings
) -> tuple[BoolArray, BoolArray]:
    """Where the target is fixated, and where that is about to settle, shape (p,) each."""
    if irrigation.fixation_s is None:
        nowhere = np.zeros(time_s.size, dtype=bool)
        return nowhere, nowhere.copy()
    start_s, stop_s = irrigation.fixation_s
    settles = settings.fixation_settles_s
    inside = (time_s >= start_s + settles) & (time_s <= stop_s)
    around = (time_s >= start_s) & (time_s <= stop_s + settles)
    return inside, around & ~inside


def curve_prior(
    count: int, prepared: Prepared, anchored: bool, fixating: bool, settings: CaloricSettings
) -> Prior:
    """Wide priors on gaze slope and bends; slope and factor held where nothing tells them."""
    size = rough_spread_deg_s(prepared.pieces, settings.rough_block_s)
    bend = max(settings.bend_share * size, settings.bend_min_deg_s)
    mean = np.zeros(BENDS + SETTING_OUT + count)
    mean[FACTOR] = settings.factor if fixating else 1.0
    sd = np.full(mean.size, bend)
    sd[[GAZE, LEVEL]] = prepared.settings.gaze_slope_sd, np.inf
    sd[FACTOR] = settings.factor_sd if fixating else HELD_SD
    sd[SLOPE] = HELD_SD if anchored else np.inf
    return Prior(mean, sd)


def rough_spread_deg_s(pieces: Pieces, block_s: float) -> float:
    """How far medians of slow-phase velocity over blocks spread, 0 included, for priors alone."""
    block = np.floor(pieces.time_s / block_s).astype(np.int64)
    middles = [median(pieces.velocity_deg_s[block == number]) for number in np.unique(block)]
    return float(np.ptp([*middles, 0.0]))


def data_without(pieces: Pieces, settling: BoolArray, prepared: Prepared) -> Data:
    """The pieces as observations, without those in which fixation comes or goes."""
    data = data_of(pieces, prepared.settings)
    return replace(data, share=np.where(settling, 0.0, data.share))


def fitted(model: CurveModel, data: Data, prior: Prior) -> Fit:
    """The robust fit; a gaze slope below 0, which no eye has, is held at 0."""
    start = prior.mean.copy()
    start[LEVEL] = median(data.observed)
    if model.fixating.any():
        start[FACTOR] = rough_factor(model, data)
    fit = robust_fit(model, start, data, prior)
    if fit.parameters[GAZE] >= 0.0:
        return fit
    return robust_fit(model, start, data, prior, held=(GAZE,))


def rough_factor(model: CurveModel, data: Data) -> float:
    """What fixation leaves, from medians beside it, within 0 and 1: a start for the fit."""
    at = np.flatnonzero(model.fixating)
    free = (data.share > 0) & ~model.fixating
    before, behind = free[: at[0]].nonzero()[0], at[-1] + 1 + free[at[-1] + 1 :].nonzero()[0]
    beside = data.observed[np.concatenate([before[-at.size :], behind[: at.size]])]
    usual = median(beside) if beside.size else 0.0
    return float(np.clip(median(data.observed[at]) / usual, 0.0, 1.0)) if usual else 1.0


def seconds_on(grid_s: FloatArray, pieces: Pieces, chosen: BoolArray) -> FloatArray:
    """Seconds of the chosen pieces in each step of the grid, shape (g,)."""
    place = np.floor((pieces.time_s[chosen] - grid_s[0]) * GRID_HZ).astype(np.int64)
    place = np.clip(place, 0, grid_s.size - 1)
    seconds = np.bincount(place, weights=pieces.duration_s[chosen], minlength=grid_s.size)
    return np.asarray(seconds, dtype=float)
