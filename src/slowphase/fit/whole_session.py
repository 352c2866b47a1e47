"""The whole-session fit: one reflex, one nystagmus, for every trial at once.

Each trial enters as its own fit left it: pieces of slow phase, what each is worth, what noise is
alike between them. Gauss-Newton steps on the normal equations of all trials find the parameters
that they share; how much trials differ in strength and nystagmus is chosen by marginal likelihood.
"""

from dataclasses import dataclass, replace

import numpy as np

from slowphase.fit.normal import Normal, compress, honest_information
from slowphase.fit.parameters import (
    ADAPT,
    DECAY,
    GAZE,
    RATIO,
    Place,
    Variation,
    places,
    session_prior,
    starting_point,
)
from slowphase.fit.settings import FitSettings
from slowphase.foundation.arrays import FloatArray
from slowphase.measures.regression import Prior, holding, scaled_inverse
from slowphase.measures.two_directions import Carried

ROUNDS = 20  # most iterations
SETTLED = 0.01  # a step that lessens the sum of squares by no more ends the fit
LEAST = 1e-12  # of an eigenvalue: below it is rounding
HALVINGS = 6  # of a step that does not pay


@dataclass(frozen=True, slots=True)
class SessionFit:
    """One reflex fitted to all trials.

    ``parameters`` (k,) and ``covariance`` (k, k) are in the order of `parameters`; ``places`` are
    the trials in the session's order, ``normals`` their normal equations at the solution, and
    ``varied`` how much trials differ. ``degrees`` (k,) are each parameter's degrees of freedom.
    """

    parameters: FloatArray
    covariance: FloatArray
    places: tuple[Place, ...]
    normals: tuple[Normal, ...]
    varied: Variation
    degrees: FloatArray
    converged: bool

    @property
    def standard_errors(self) -> FloatArray:
        """Square root of the covariance's diagonal, shape (k,)."""
        return np.sqrt(np.maximum(np.diag(self.covariance), 0.0))


def fit_session(trials: tuple[Carried, ...], settings: FitSettings) -> SessionFit | None:
    """Fit one reflex to all trials; None where no trial in the dark moves the chair."""
    if not any(trial.drive is not None and trial.vision == "dark" for trial in trials):
        return None
    found = places(trials)
    start = starting_point(found, settings)
    prior = session_prior(found, Variation(), settings)
    point = descend(found, start, prior)
    varied = choose_variation(point, found, settings)
    if varied != Variation():
        prior = session_prior(found, varied, settings)
        point = descend(found, point.parameters, prior)
    each = [honest_information(p.trial, p.local(point.parameters)) for p in found]
    covariance = scaled_inverse(assemble(found, each, point) + prior.information)
    return SessionFit(
        parameters=point.parameters,
        covariance=covariance,
        places=found,
        normals=point.normals,
        varied=varied,
        degrees=pooled_degrees(found, each, point, covariance),
        converged=point.converged,
    )


@dataclass(frozen=True, slots=True)
class Point:
    """Where the descent stands: parameters (k,), the trials' normal equations, rest or not."""

    parameters: FloatArray
    normals: tuple[Normal, ...]
    converged: bool = False

    def cost(self, prior: Prior) -> float:
        """Sum of squares of all residuals and of the distance from the prior."""
        return sum(n.squares for n in self.normals) + prior.distance(self.parameters)


def descend(found: tuple[Place, ...], start: FloatArray, prior: Prior) -> Point:
    """Damped Gauss-Newton steps from a start until they come to rest.

    A gaze slope below 0 is held at 0: no leak makes the eye run away faster than that.
    """
    point = _point(found, start)
    for _ in range(ROUNDS):
        information, gradient = equations(found, point)
        bound = holding(prior, (GAZE,)) if point.parameters[GAZE] <= 0.0 else prior
        inverse = scaled_inverse(information + bound.information)
        step = inverse @ (gradient + bound.pull(point.parameters))
        step *= min(1.0, 1.0 / max(float(np.max(np.abs(step[[DECAY, RATIO, ADAPT]]))), 1e-12))
        new = _taken(found, point, step, prior)
        if new is None:
            return point
        gained, point = point.cost(prior) - new.cost(prior), new
        if gained <= SETTLED:
            return replace(point, converged=True)
    return point


def _point(found: tuple[Place, ...], parameters: FloatArray) -> Point:
    normals = tuple(compress(place.trial, place.local(parameters)) for place in found)
    return Point(parameters, normals)


def _taken(found: tuple[Place, ...], point: Point, step: FloatArray, prior: Prior) -> Point | None:
    """The point after a step, halved until it pays; None where it never does."""
    cost = point.cost(prior)
    for halving in range(HALVINGS):
        parameters = point.parameters + step * 0.5**halving
        parameters[GAZE] = max(float(parameters[GAZE]), 0.0)
        new = _point(found, parameters)
        if new.cost(prior) <= cost * (1.0 + 1e-9) + 1e-9:
            return new
    return None


def equations(found: tuple[Place, ...], point: Point) -> tuple[FloatArray, FloatArray]:
    """Information (k, k) and gradient (k,) of all trials together."""
    gradient = np.zeros(point.parameters.size)
    for place, normal in zip(found, point.normals, strict=True):
        gradient += place.derivatives(point.parameters).T @ normal.gradient
    return assemble(found, [normal.information for normal in point.normals], point), gradient


def pooled_degrees(
    found: tuple[Place, ...], information: list[FloatArray], point: Point, covariance: FloatArray
) -> FloatArray:
    """Degrees of freedom of each parameter, shape (k,).

    Each trial's noise is known from that trial alone; a parameter that one trial tells is known
    with its degrees, one that all tell with about their sum (Welch, Satterthwaite 1946).
    """
    total, spent = np.zeros(point.parameters.size), np.zeros(point.parameters.size)
    for place, local in zip(found, information, strict=True):
        rows = place.derivatives(point.parameters) @ covariance
        own = np.maximum(np.sum(rows * (local @ rows), axis=0), 0.0)
        total += own
        spent += own**2 / place.trial.degrees
    return total**2 / np.maximum(spent, 1e-300)


def assemble(found: tuple[Place, ...], information: list[FloatArray], point: Point) -> FloatArray:
    """What all trials say about the session's parameters, shape (k, k)."""
    total = np.zeros((point.parameters.size,) * 2)
    for place, local in zip(found, information, strict=True):
        rows = place.derivatives(point.parameters)
        total += rows.T @ local @ rows
    return total


def choose_variation(point: Point, found: tuple[Place, ...], settings: FitSettings) -> Variation:
    """How much trials differ: the most likely of a grid, each variance only where it pays."""
    information, gradient = equations(found, point)
    best, least = Variation(), np.inf
    for level in settings.levels:
        for shift in settings.shifts_deg_s:
            varied = Variation(level, shift)
            prior = session_prior(found, varied, settings)
            spent = settings.variation_gain * ((level > 0) + (shift > 0))
            criterion = marginal(information, gradient, point.parameters, prior) + spent
            if criterion < least:
                best, least = varied, criterion
    return best


def marginal(
    information: FloatArray, gradient: FloatArray, parameters: FloatArray, prior: Prior
) -> float:
    """-2 log of the marginal likelihood under a prior (Laplace), up to one constant."""
    posterior = information + prior.information
    pull = gradient + prior.pull(parameters)
    known = np.isfinite(prior.sd)
    scale = np.where(known, prior.sd, 1.0)
    scaled = posterior * np.outer(scale, scale)
    size = np.sqrt(np.maximum(np.diag(scaled), LEAST))
    # What no trial tells leaves a matrix without an inverse: it counts alike for every prior.
    values, vectors = np.linalg.eigh(scaled / np.outer(size, size))
    values = np.maximum(values, LEAST)
    along = vectors.T @ (pull * scale / size)
    volume = float(np.sum(np.log(values)) + 2.0 * np.sum(np.log(size)))
    return volume - float(np.sum(along**2 / values)) + prior.distance(parameters)
