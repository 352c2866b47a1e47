"""Does one reflex explain the phases of the sinusoids and the decays of the steps?

Every sinusoid in the dark says by which phase it differs from the session's reflex, and every
response to a step by which decay, whatever their strength and bias were. Under one reflex these
deviations x are noise of covariance V, once decay, side ratio, adaptation and latency have been
fitted to them (they move x by A):

    Q = min over t of (x - A t)ᵀ V⁻¹ (x - A t)   is chi-squared with as many degrees of freedom as
    there are deviations beyond four.

V is a little too wide (drift and wavering are believed before they are seen): Q is scaled by
``agreement_scale``, which the study of sessions made by one reflex has told.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from slowphase.fit.normal import honest_information
from slowphase.fit.parameters import ADAPT, DECAY, LATENCY, RATIO, Place
from slowphase.fit.settings import FitSettings
from slowphase.fit.whole_session import SessionFit
from slowphase.foundation.arrays import FloatArray
from slowphase.measures import two_directions as at
from slowphase.measures.measure import Side
from slowphase.measures.regression import scaled_inverse
from slowphase.measures.weighted import chance_beyond

TIMES = [DECAY, RATIO, ADAPT, LATENCY]
STRENGTHS = [at.BIAS, at.GAZE, at.RIGHT, at.LEFT, at.BEND]
DECAYS: tuple[tuple[Side, int], ...] = (("right", at.DECAY_R), ("left", at.DECAY_L))


@dataclass(frozen=True, slots=True)
class Deviation:
    """How one response differs from the best common reflex.

    ``of`` is ``phase`` (deg, positive: leads more) or ``decay`` (%, positive: lasts longer) of the
    response that excites ``exciting``. ``error`` is the standard error of ``value``, and
    ``standardised`` the value over its own spread under one reflex.
    """

    trial: str
    of: str
    exciting: Side | None
    value: float
    error: float
    standardised: float


@dataclass(frozen=True, slots=True)
class Agreement:
    """Test of one reflex for all; ``p`` is None where too few responses are known."""

    statistic: float
    degrees: int
    p: float | None
    deviations: tuple[Deviation, ...]


@dataclass(frozen=True, slots=True)
class Told:
    """One deviation or two of one trial: values (q,), covariance (q, q), ``moves`` (q, 4) with the
    times of the reflex, and ``sides`` (None for a phase) with the unit's size in ``scale``."""

    trial: str
    sides: tuple[Side | None, ...]
    value: FloatArray
    covariance: FloatArray
    moves: FloatArray
    scale: float


def agreement(fit: SessionFit, settings: FitSettings) -> Agreement:
    """The test, and every deviation from the best common reflex."""
    told = [t for place in fit.places for t in deviations(place, fit, settings)]
    if sum(t.value.size for t in told) <= len(TIMES):
        return Agreement(0.0, 0, None, ())
    value = np.concatenate([t.value for t in told])
    moves = np.vstack([t.moves for t in told])
    covariance = block_diagonal([t.covariance for t in told])
    weight = np.linalg.inv(covariance)
    common = scaled_inverse(moves.T @ weight @ moves)
    left = value - moves @ (common @ (moves.T @ weight @ value))
    statistic = settings.agreement_scale * float(left @ weight @ left)
    degrees = value.size - len(TIMES)
    spread = np.diag(covariance - moves @ common @ moves.T)
    return Agreement(
        statistic,
        degrees,
        chance_beyond(statistic, degrees),
        tuple(named(told, left, np.sqrt(np.diag(covariance)), spread)),
    )


def deviations(place: Place, fit: SessionFit, settings: FitSettings) -> Iterator[Told]:
    """What one trial tells; nothing where it does not respond, or not surely enough."""
    trial = place.trial
    if trial.drive is None or not (place.in_the_dark and trial.responds):
        return
    which, scale = np.zeros((at.SIZE, 1)), 100.0
    if trial.frequency_hz:
        which[[at.LEAD_R, at.LEAD_L], 0] = 1.0
        scale = 360.0 * trial.frequency_hz
        found = projected(place, fit, which, settings)
        limit = settings.phase_error_max_deg / scale
        sides: tuple[Side | None, ...] = (None,)
    else:
        sides = tuple(side for side, _ in DECAYS)
        which = np.eye(at.SIZE)[:, [index for _, index in DECAYS]]
        found = projected(place, fit, which, settings)
        limit = settings.log_error_max
    value, covariance, moves = found
    keep = np.flatnonzero(np.sqrt(np.diag(covariance)) <= limit)
    if keep.size:
        yield Told(
            trial=trial.trial,
            sides=tuple(sides[index] for index in keep),
            value=value[keep],
            covariance=covariance[np.ix_(keep, keep)],
            moves=moves[keep],
            scale=scale,
        )


def projected(
    place: Place, fit: SessionFit, which: FloatArray, settings: FitSettings
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Deviations along ``which`` (10, q) once strengths, bias and gaze slope are the trial's own.

    Their values (q,), covariance (q, q), and how they move with the times, (q, 4).
    """
    normal = fit.normals[fit.places.index(place)]
    local = place.local(fit.parameters)
    held = np.zeros(len(STRENGTHS))
    held[1] = settings.gaze_slope_sd**-2
    held[-1] = settings.bend_sd**-2
    pull = normal.gradient.copy()
    pull[at.BEND] -= held[-1] * local[at.BEND]
    free = freed(normal.information, held)
    seen = which.T @ free
    inverse = scaled_inverse(seen @ which)
    value = inverse @ (which.T @ cleared(normal.information, held, pull))
    honest = freed(honest_information(place.trial, local), held)
    moves = inverse @ seen @ place.derivatives(fit.parameters)[:, TIMES]
    return value, scaled_inverse(which.T @ honest @ which), moves


def freed(information: FloatArray, held: FloatArray) -> FloatArray:
    """Information (10, 10) that is left when the strengths are free but for their priors."""
    return information - information[:, STRENGTHS] @ _own(information, held)


def cleared(information: FloatArray, held: FloatArray, gradient: FloatArray) -> FloatArray:
    """Gradient (10,) that is left when the strengths have taken theirs."""
    return gradient - _own(information, held).T @ gradient[STRENGTHS]


def _own(information: FloatArray, held: FloatArray) -> FloatArray:
    inner = information[np.ix_(STRENGTHS, STRENGTHS)] + np.diag(held + 1e-12)
    return scaled_inverse(inner) @ information[STRENGTHS]


def named(
    told: list[Told], left: FloatArray, error: FloatArray, spread: FloatArray
) -> Iterator[Deviation]:
    """Every deviation with its name and in the unit that it is shown in."""
    index = 0
    for one in told:
        for side in one.sides:
            yield Deviation(
                trial=one.trial,
                of="phase" if side is None else "decay",
                exciting=side,
                value=one.scale * float(left[index]),
                error=one.scale * float(error[index]),
                standardised=float(left[index]) / max(float(spread[index]), 1e-12) ** 0.5,
            )
            index += 1


def block_diagonal(blocks: list[FloatArray]) -> FloatArray:
    """Square blocks (q, q) along the diagonal of one matrix."""
    size = sum(len(block) for block in blocks)
    whole, at_row = np.zeros((size, size)), 0
    for block in blocks:
        part = slice(at_row, at_row + len(block))
        whole[part, part] = block
        at_row += len(block)
    return whole
