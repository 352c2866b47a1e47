"""Robust nonlinear least squares with priors, and uncertainty that allows for a drifting eye.

One engine for every fit: Gauss-Newton steps (damped as Levenberg and Marquardt do), in which
observations far from the model lose their weight (Tukey's bisquare), scatter beyond the known
noise is estimated, and weak parameters are held by normal priors. The covariance is a "sandwich"
with the residuals' own correlation in time between the bread.
"""

from dataclasses import dataclass, replace

import numpy as np

from slowphase.foundation.arrays import BoolArray, FloatArray
from slowphase.foundation.median import median
from slowphase.measures.generalised import Drift, drift_of
from slowphase.measures.model import Model, jacobian_of
from slowphase.measures.noise_model import (
    USUAL_EYES,
    NoiseModel,
    NoisePrior,
    estimate_noise,
    sum_blocks,
)
from slowphase.measures.settings import MeasureSettings

MAD_TO_SD = 1.4826  # of normal values
BISQUARE_SD = MeasureSettings().outlier_sd  # where no settings are given
ROUNDS = 30  # most iterations
WIDE_ROUNDS = 3  # first iterations, which keep everything
NEAR_ROUNDS = WIDE_ROUNDS + 2  # the refinement does the rest
STILL = 0.01  # a step under this share of every standard error ends the fit
ROUGH = 0.1  # the same for a starting point
FINE_BLOCKS_MAX = 600  # number of blocks: bounds the work
FINE_BLOCK_S = 0.5  # shortest of them: within it the drift is one
REFINING_ROUNDS = 14  # most iterations of the refinement
WEIGHING_ROUNDS = 9  # of these, those that weigh anew
LONGEST_STEP = 3.0  # standard errors: further on, the straight line is no guide
REFINED = 0.2  # a step under this share of every standard error ends the refinement
RESTLESS = 1.0  # one above it at the end leaves the fit not converged
SPEED_CLASSES = 6  # classes of speed for the noise: one point each
SPEED_PAIRS_MIN = 15  # per class, for a stable mean
HELD_SD = 1e-9  # as good as 0, and still a number to divide by
SINGULAR = 1e-15  # share of the largest eigenvalue: a smaller one is none


@dataclass(frozen=True, slots=True)
class Prior:
    """Normal prior on each parameter, shape (k,): an infinite SD says nothing."""

    mean: FloatArray
    sd: FloatArray

    @property
    def information(self) -> FloatArray:
        """Inverse variances on a diagonal, shape (k, k)."""
        return np.diag(self.sd**-2.0)

    def pull(self, parameters: FloatArray) -> FloatArray:
        """Minus half the gradient of the prior's quadratic form, shape (k,)."""
        return (self.mean - parameters) / self.sd**2

    def distance(self, parameters: FloatArray) -> float:
        """Sum of squared standardised distances from the prior."""
        return float(np.sum(((parameters - self.mean) / self.sd) ** 2))


def holding(prior: Prior, held: tuple[int, ...]) -> Prior:
    """The prior with the parameters of these indices held at their prior mean."""
    sd = prior.sd.copy()
    sd[list(held)] = HELD_SD
    return Prior(prior.mean, sd)


def no_prior(size: int) -> Prior:
    """A prior that says nothing."""
    return Prior(np.zeros(size), np.full(size, np.inf))


@dataclass(frozen=True, slots=True)
class Data:
    """Observations of shape (p,) with their times and the SD of their known noise.

    ``share`` (0 to 1) is a weight given in advance: 0 leaves an observation out. ``outlier_sd`` is
    how many SD from the model an observation loses all weight; infinite where none may.
    """

    time_s: FloatArray
    observed: FloatArray
    noise: FloatArray
    share: FloatArray
    outlier_sd: float = BISQUARE_SD
    noise_prior: NoisePrior = USUAL_EYES

    def without(self, lapse: BoolArray) -> "Data":
        """The same without lapses (p,): whose alertness lapses, his response wavers as well."""
        return replace(
            self,
            share=np.where(lapse, 0.0, self.share),
            noise_prior=self.noise_prior.of_the_drowsy() if lapse.any() else self.noise_prior,
        )

    def hiding_lapses(self, unseen: float) -> "Data":
        """The same where lapses of this relative SD may have gone unseen."""
        return replace(self, noise_prior=replace(self.noise_prior, unseen=unseen))


@dataclass(frozen=True, slots=True)
class Fit:
    """Result: parameters (k,), covariance (k, k), and per observation residual and weight.

    ``scatter`` is the SD beyond the known noise, ``noise`` what the residuals are made of,
    ``converged`` whether the steps had come to rest, ``variance`` the white noise of each
    observation, shape (p,). ``told`` (p,) is what each observation is worth in the end (inverse
    variance), ``drift`` what is alike between them.
    """

    parameters: FloatArray
    covariance: FloatArray
    residual: FloatArray
    weight: FloatArray
    scatter: float
    noise: NoiseModel
    converged: bool
    variance: FloatArray
    told: FloatArray
    drift: Drift

    @property
    def standard_errors(self) -> FloatArray:
        """Square root of the covariance's diagonal, shape (k,)."""
        return np.sqrt(np.maximum(np.diag(self.covariance), 0.0))

    @property
    def degrees(self) -> float:
        """Degrees of freedom for intervals."""
        return self.noise.degrees(self.parameters.size)


def robust_fit(
    model: Model,
    start: FloatArray,
    data: Data,
    prior: Prior,
    *,
    robust: bool = True,
    near: bool = False,
    held: tuple[int, ...] = (),
    strengths: tuple[int, ...] = (),
) -> Fit:
    """Fit ``model`` (parameters (k,) to predictions (p,)) to ``data``.

    First reweighted least squares as if all noise were white, then generalised least squares under
    the noise that the residuals show. Without ``robust`` the first alone, every observation kept.
    ``near`` says that ``start`` comes from a robust fit already, so that its outliers may be
    believed at once. Parameters with their index in ``held`` stay where they start, at a bound; the
    covariance treats them as free, since being at the bound is no knowledge of the other side.
    ``strengths`` are the indices of the parameters in which the model is linear and which alertness
    would scale together.
    """
    bound = holding(prior, held)
    parameters, weight, scatter, converged = _iterate(model, start, data, bound, robust, near)
    predicted = model(parameters)
    residual = data.observed - predicted
    known = np.hypot(data.noise, scatter) ** 2
    jacobian = jacobian_of(model, parameters, predicted)
    if robust:
        known = known * noise_by_speed(residual, predicted, weight / known)
    inverse = weight / known
    chosen = list(strengths)
    response = jacobian[:, chosen] @ parameters[chosen] if strengths else None
    # Half-believed residuals would make the noise look smaller than it is.
    wholly = weight > data.noise_prior.believed_weight * data.share
    believed = np.where(wholly, data.share / known, 0.0)
    noise = estimate_noise(data.time_s, believed, residual, jacobian, data.noise_prior, response)
    white = noise.white * known
    fit = Fit(
        parameters=parameters,
        covariance=np.zeros((0, 0)),
        residual=residual,
        weight=weight,
        scatter=scatter,
        noise=noise,
        converged=converged,
        variance=white,
        told=weight / white,
        drift=drift_of(data.time_s, noise, response),
    )
    if robust:
        return _refined(fit, model, data, bound, prior)
    return replace(fit, covariance=sandwich(data.time_s, inverse, jacobian, prior, noise))


def _refined(
    fit: Fit,
    model: Model,
    data: Data,
    bound: Prior,
    prior: Prior,
) -> Fit:
    """Gauss-Newton steps of generalised least squares from a fit that is near.

    Outliers are judged beside the drift that the residuals speak for, in the first rounds: then
    they are settled, so that the fit can come to rest.
    """
    parameters, residual, weight, white = fit.parameters, fit.residual, fit.weight, fit.variance
    drift = fit.drift
    predicted = data.observed - residual
    before = np.zeros(parameters.size)
    for number in range(REFINING_ROUNDS):
        jacobian = jacobian_of(model, parameters, predicted)
        if number < WEIGHING_ROUNDS:
            beside = residual - drift.expected(residual, weight / white)
            weight = data.share * bisquare(beside / _spread(beside, white, data), data.outlier_sd)
        products = drift.products(np.column_stack([jacobian, residual]), weight / white)
        inverse = scaled_inverse(products[:-1, :-1] + bound.information)
        step = inverse @ (products[:-1, -1] + bound.pull(parameters))
        size = step / np.sqrt(np.diag(inverse))
        length = lengthened(before, size)
        length = min(length, LONGEST_STEP / max(float(np.max(np.abs(size))), 1e-12))
        parameters = parameters + step * length
        predicted = model(parameters)
        residual = data.observed - predicted
        before, moved = size, float(np.max(np.abs(size)))
        if moved <= REFINED:
            break
    told = weight / (white * believed_noise(residual, white, weight))
    covariance = scaled_inverse(drift.information(jacobian, told) + prior.information)
    return replace(
        fit,
        parameters=parameters,
        covariance=covariance,
        residual=residual,
        weight=weight,
        converged=moved <= RESTLESS,
        told=told,
    )


def lengthened(before: FloatArray, now: FloatArray) -> float:
    """How much longer to make a step after the one before (both in standard errors, (k,)).

    Reweighting creeps in small steps the same way, or swings between two states: both go on as a
    geometric series, whose end is reached at once (Aitken's extrapolation, bounded).
    """
    power = float(before @ before)
    alike = float(before @ now) / power if power > 0 else 0.0
    return 1.0 / (1.0 - min(max(alike, -0.7), 0.6))


def believed_noise(residual: FloatArray, white: FloatArray, weight: FloatArray) -> float:
    """White noise (variance, over ``white``) among the pieces that a robust fit believes.

    The tails that lost their weight must not widen the interval a second time. At most 1.
    """
    pair = weight[1:] * weight[:-1]
    if pair.sum() < SPEED_PAIRS_MIN:
        return 1.0
    ratio = np.diff(residual) ** 2 / (white[1:] + white[:-1])
    return float(np.clip(np.sum(pair * ratio) / pair.sum(), 0.3, 1.0))


def noise_by_speed(residual: FloatArray, predicted: FloatArray, inverse: FloatArray) -> FloatArray:
    """How much noisier (variance, shape (p,)) pieces are at their speed than the others.

    Fast nystagmus leaves short slow phases with remains of quick phases in them. Read from the
    differences between neighbours, so that neither drift nor a misfit takes part.
    """
    pair = np.flatnonzero((inverse[1:] > 0) & (inverse[:-1] > 0))
    if pair.size < SPEED_CLASSES * SPEED_PAIRS_MIN:
        return np.ones(residual.size)
    variance = 1.0 / inverse[pair + 1] + 1.0 / inverse[pair]
    ratio = (residual[pair + 1] - residual[pair]) ** 2 / variance
    speed = np.abs(predicted)
    order = np.argsort(speed[pair], kind="stable")
    classes = np.array_split(order, SPEED_CLASSES)
    centre = [float(np.mean(speed[pair[c]])) for c in classes]
    size = np.array([float(np.mean(ratio[c])) for c in classes])
    usual = max(median(size), 1e-12)
    return np.asarray(np.interp(speed, centre, np.maximum(size / usual, 0.5)))


def _spread(beside: FloatArray, white: FloatArray, data: Data) -> FloatArray:
    """SD (p,) of the residuals beside the drift, by which outliers are judged."""
    sd = np.sqrt(white)
    used = data.share > 0
    middle = MAD_TO_SD * median(np.abs(beside[used] / sd[used])) if used.any() else 1.0
    return sd * max(middle, 1e-3)


def robust_point(
    model: Model, start: FloatArray, data: Data, prior: Prior, *, still: float = STILL
) -> FloatArray:
    """The parameters of reweighted least squares alone, for starting points.

    ``still`` is the share of every standard error under which a step ends the search.
    """
    return _iterate(model, start, data, prior, True, False, still)[0]


def _iterate(
    model: Model,
    start: FloatArray,
    data: Data,
    prior: Prior,
    robust: bool,
    near: bool,
    still: float = STILL,
) -> tuple[FloatArray, FloatArray, float, bool]:
    """Reweighted, damped Gauss-Newton steps until they come to rest."""
    parameters = np.asarray(start, dtype=float)
    predicted = model(parameters)
    damping = 1e-3
    weight = data.share.astype(float)
    scatter, used = 1.0, data.share > 0
    known = median(data.noise[used]) if used.any() else 0.0
    for number in range(WIDE_ROUNDS if near else 0, NEAR_ROUNDS if near else ROUNDS):
        residual = data.observed - predicted
        scatter = _scatter(residual[used], known)
        sd = np.hypot(data.noise, scatter)
        if robust:
            # The first rounds keep everything: a poor start must not throw good data out.
            wide = max(float(WIDE_ROUNDS - number), 1.0)
            weight = data.share * bisquare(residual / (wide * sd), data.outlier_sd)
        inverse = weight / sd**2
        jacobian = jacobian_of(model, parameters, predicted)
        information = (jacobian.T * inverse) @ jacobian + prior.information
        gradient = jacobian.T @ (inverse * residual) + prior.pull(parameters)
        cost = float(np.sum(inverse * residual**2)) + prior.distance(parameters)
        for _ in range(8):
            damped = information + damping * np.diag(np.diag(information) + 1e-12)
            step = scaled_inverse(damped) @ gradient
            trial = model(parameters + step)
            new = float(np.sum(inverse * (data.observed - trial) ** 2))
            if new + prior.distance(parameters + step) <= cost * (1 + 1e-9):
                damping = max(damping / 10, 1e-9)
                break
            damping *= 10
        else:
            return parameters, weight, scatter, False
        parameters, predicted = parameters + step, trial
        if number < WIDE_ROUNDS:
            continue
        error = np.sqrt(np.diag(scaled_inverse(information)))
        if np.all(np.abs(step) <= still * error):
            return parameters, weight, scatter, True
    return parameters, weight, scatter, False


def bisquare(standardised: FloatArray, outlier_sd: float) -> FloatArray:
    """Tukey's weight: 1 at 0, 0 beyond ``outlier_sd`` standard deviations."""
    return np.maximum(0.0, 1.0 - (standardised / outlier_sd) ** 2) ** 2


def sandwich(
    time_s: FloatArray,
    inverse: FloatArray,
    jacobian: FloatArray,
    prior: Prior,
    noise: NoiseModel,
) -> FloatArray:
    """Covariance (k, k) of the parameters under the noise model.

    ``inverse`` (p,) is each observation's weight in the fit, ``jacobian`` (p, k).
    """
    bread = scaled_inverse((jacobian.T * inverse) @ jacobian + prior.information)
    white = noise.white * (jacobian.T * inverse) @ jacobian
    span = max(float(time_s[-1] - time_s[0]), 1e-9)
    length = max(FINE_BLOCK_S, span / FINE_BLOCKS_MAX)
    blocks = sum_blocks(time_s, inverse, np.zeros_like(inverse), jacobian, length)
    pull = blocks.jacobian * blocks.weight[:, None]
    meat = white + pull.T @ noise.drift_covariance(blocks.time_s) @ pull + prior.information
    return bread @ meat @ bread


def scaled_inverse(matrix: FloatArray) -> FloatArray:
    """Inverse of a symmetric matrix whose entries differ by many powers of ten, shape (k, k).

    Scaled to a unit diagonal first: a parameter that is held (its information is huge) must not
    make the others look like nothing.
    """
    scale = 1.0 / np.sqrt(np.maximum(matrix.diagonal(), 1e-300))
    both = scale[:, None] * scale
    value, vectors = np.linalg.eigh(matrix * both)
    size = np.abs(value)
    order = np.argsort(size)[::-1]  # as the library's pseudo-inverse does, to the last bit
    size, sign, vectors = size[order], np.copysign(1.0, value[order]), vectors.take(order, axis=1)
    inverted = np.divide(1.0, size, out=np.zeros_like(size), where=size > SINGULAR * size[0])
    return np.asarray((vectors * sign) @ (inverted[:, None] * vectors.T) * both)


def _scatter(residual: FloatArray, known: float) -> float:
    """SD that must be added to the known noise to explain the middle of the residuals."""
    if not residual.size:
        return 1.0
    total = MAD_TO_SD * median(np.abs(residual))
    return max((max(total**2 - known**2, 0.0)) ** 0.5, 0.05 * total, 1e-3)
