"""What could make a reflex like this one: several explanations, fitted and compared.

A session's reflex is five numbers: gain and decay of each direction and the nystagmus. Each
explanation is a model of them with few parameters (`physiology/labyrinths.py`), and healthy people
differ from the model by ``D``. An explanation with parameters h fits as well as

    (y - m(h))ᵀ (C + D)⁻¹ (y - m(h))

is small for chi-squared with as many degrees of freedom as numbers exceed parameters.
"""

import tomllib
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cache
from importlib.resources import files

import numpy as np

from slowphase.fit.parameters import DECAY, LEFT, NYSTAGMUS, RATIO, RIGHT
from slowphase.fit.settings import FitSettings
from slowphase.fit.whole_session import SessionFit
from slowphase.foundation.arrays import FloatArray
from slowphase.measures.weighted import chance_beyond
from slowphase.physiology.labyrinths import Labyrinths, imbalance_of, reflex_of

SIZE = 5  # numbers that a reflex is
SEARCHES = 2  # from the best of the starting points
Summary = Callable[[FloatArray], FloatArray]


@dataclass(frozen=True, slots=True)
class Unknown:
    """A parameter of an explanation, its bounds and where searches start."""

    name: str
    low: float
    high: float
    starts: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Hypothesis:
    """An explanation before it is fitted.

    ``model`` maps its unknowns to the five numbers, ``depth`` to how much function is lost (0 to
    1), and ``within`` names simpler explanations that it contains.
    """

    code: str
    unknowns: tuple[Unknown, ...]
    model: Summary
    depth: Callable[[FloatArray], float] = lambda h: 0.0
    within: tuple[str, ...] = ("healthy",)


@dataclass(frozen=True, slots=True)
class Explanation:
    """A fitted explanation. ``fits`` says that it cannot be ruled out, ``as_well`` that it fits as
    well as the best one for its number of parameters. ``values`` hold name, value and interval."""

    code: str
    title: str
    text: str
    told_apart: str
    values: tuple[tuple[str, float, float, float], ...]
    statistic: float
    degrees: int
    p: float
    fits: bool
    as_well: bool

    @property
    def criterion(self) -> float:
        """Statistic plus two for each parameter (Akaike 1974): smaller is better."""
        return self.statistic + 2.0 * len(self.values)


def five_numbers(labyrinths: Labyrinths) -> FloatArray:
    """Gains, logarithms of both decays and the nystagmus of two labyrinths, shape (5,)."""
    reflex = reflex_of(labyrinths)
    sides = (reflex.right, reflex.left)
    decays = [np.log(side.dynamics.decay_s) for side in sides]
    bias = imbalance_of(labyrinths).bias_deg_s
    return np.array([*(side.gain for side in sides), *decays, bias])


def _loss(
    *, right: float = 1.0, left: float = 1.0, compensated: float = 0.0, storage: float = 1.0
) -> FloatArray:
    return five_numbers(Labyrinths(right, left, compensated, storage))


def _drowsy(depth: float) -> FloatArray:
    """Gain and decay of the drowsy: 0.53 to 0.49 and 15.8 to 10.5 s (Matta, Enticott 2004)."""
    gain, decay = 1.0 - 0.08 * depth, 1.0 - 0.34 * depth
    return _loss() * np.array([gain, gain, 1, 1, 1]) + np.log(decay) * np.array([0, 0, 1, 1, 0])


DEGREE = (0.1, 0.5, 0.9)  # starting points
WEAKER = Unknown("function", 0.0, 1.0, DEGREE)
COMPENSATED = Unknown("compensated", 0.0, 1.0, (0.1, 0.6, 0.95))
HYPOTHESES = (
    Hypothesis("healthy", (), lambda h: _loss(), within=()),
    Hypothesis(
        "right_loss",
        (WEAKER, COMPENSATED),
        lambda h: _loss(right=h[0], compensated=h[1]),
        lambda h: 0.5 * (1.0 - h[0]),
    ),
    Hypothesis(
        "left_loss",
        (WEAKER, COMPENSATED),
        lambda h: _loss(left=h[0], compensated=h[1]),
        lambda h: 0.5 * (1.0 - h[0]),
    ),
    Hypothesis(
        "both_loss",
        (WEAKER,),
        lambda h: _loss(right=h[0], left=h[0]),
        lambda h: 1.0 - h[0],
    ),
    Hypothesis(
        "uneven_loss",
        (
            replace(WEAKER, name="right_function"),
            replace(WEAKER, name="left_function"),
            COMPENSATED,
        ),
        lambda h: _loss(right=h[0], left=h[1], compensated=h[2]),
        lambda h: 1.0 - 0.5 * (h[0] + h[1]),
        ("healthy", "right_loss", "left_loss", "both_loss"),
    ),
    Hypothesis(
        "storage", (Unknown("storage", 0.2, 3.0, (0.4, 1.0, 2.0)),), lambda h: _loss(storage=h[0])
    ),
    Hypothesis("low_alertness", (Unknown("depth", 0.0, 2.0, (0.5, 1.5)),), lambda h: _drowsy(h[0])),
    Hypothesis(
        "calibration",
        (Unknown("factor", 0.3, 3.0, (0.7, 1.5)),),
        lambda h: _loss() * np.array([h[0], h[0], 1.0, 1.0, h[0]]),
    ),
    Hypothesis(
        "imbalance",
        (Unknown("nystagmus", -60.0, 60.0, (-10.0, 10.0)),),
        lambda h: _loss() + np.array([0.0, 0.0, 0.0, 0.0, h[0]]),
    ),
)


@cache
def explanation_texts() -> dict[str, dict[str, str]]:
    """Title, text and what tells it apart, by code."""
    return tomllib.loads((files(__package__) / "explanations.toml").read_text(encoding="utf-8"))


def explain(fit: SessionFit, settings: FitSettings) -> tuple[Explanation, ...]:
    """Every explanation, the best first."""
    observed, covariance = observed_numbers(fit)
    fitted = {h.code: _fitted(h, observed, covariance, settings) for h in HYPOTHESES}
    best = min((found.criterion for found in fitted.values() if found.fits), default=np.inf)
    judged = []
    for hypothesis in HYPOTHESES:
        found = fitted[hypothesis.code]
        simpler = [fitted[code] for code in hypothesis.within]
        needed = all(
            not other.fits or other.statistic - found.statistic > settings.needed
            for other in simpler
        )
        near = found.criterion <= best + settings.as_well
        judged.append(replace(found, as_well=found.fits and needed and near))
    return tuple(sorted(judged, key=lambda found: (not found.as_well, found.criterion)))


def observed_numbers(fit: SessionFit) -> tuple[FloatArray, FloatArray]:
    """The session's five numbers (5,) and their covariance (5, 5)."""
    rows = np.zeros((SIZE, fit.parameters.size))
    for row, gain in enumerate((RIGHT, LEFT)):
        rows[row, gain] = 1.0
    for row, way in ((2, 0.5), (3, -0.5)):
        rows[row, DECAY], rows[row, RATIO] = 1.0, way
    rows[4, NYSTAGMUS] = 1.0
    return rows @ fit.parameters, rows @ fit.covariance @ rows.T


def between_people(predicted: FloatArray, depth: float, settings: FitSettings) -> FloatArray:
    """Covariance (5, 5) of how people of one explanation differ from its model.

    The healthy differ by what is known of them; how far a loss is from the model grows with its
    ``depth`` (0 to 1), since the model's form was chosen.
    """
    gain = settings.people_gain
    decay = np.hypot(settings.people_decay, settings.form_decay * depth)
    side_gain = np.hypot(settings.people_side, settings.form_gain * depth)
    side_decay = np.hypot(1.4 * settings.people_side, 0.5 * settings.form_decay * depth)
    both = np.ones((2, 2))
    spread = np.zeros((SIZE, SIZE))
    size = predicted[:2]
    spread[:2, :2] = np.outer(size, size) * (gain**2 * both + side_gain**2 * np.eye(2))
    spread[2:4, 2:4] = decay**2 * both + side_decay**2 * np.eye(2)
    share = settings.people_nystagmus * predicted[4]
    spread[4, 4] = settings.people_nystagmus_deg_s**2 + share**2
    return spread


def _fitted(
    hypothesis: Hypothesis, observed: FloatArray, covariance: FloatArray, settings: FitSettings
) -> Explanation:
    from scipy.optimize import least_squares

    def standardised(unknown: FloatArray) -> FloatArray:
        predicted = hypothesis.model(unknown)
        spread = covariance + between_people(predicted, hypothesis.depth(unknown), settings)
        return np.linalg.solve(np.linalg.cholesky(spread), observed - predicted)

    texts = explanation_texts()[hypothesis.code]
    values: tuple[tuple[str, float, float, float], ...] = ()
    least = standardised(np.zeros(0)) if not hypothesis.unknowns else None
    if least is None:
        low = [unknown.low for unknown in hypothesis.unknowns]
        high = [unknown.high for unknown in hypothesis.unknowns]
        grids = np.meshgrid(*(unknown.starts for unknown in hypothesis.unknowns))
        starts = np.column_stack([grid.ravel() for grid in grids])
        nearest = sorted(starts.tolist(), key=lambda s: float(np.sum(standardised(s) ** 2)))
        found = [least_squares(standardised, s, bounds=(low, high)) for s in nearest[:SEARCHES]]
        best = min(found, key=lambda solution: solution.cost)
        least, values = best.fun, _intervals(hypothesis, best.x, best.jac)
    statistic, degrees = float(least @ least), SIZE - len(hypothesis.unknowns)
    p = chance_beyond(statistic, degrees)
    return Explanation(
        code=hypothesis.code,
        **texts,
        values=values,
        statistic=statistic,
        degrees=degrees,
        p=p,
        fits=p >= settings.p_disagree,
        as_well=False,
    )


def _intervals(
    hypothesis: Hypothesis, value: FloatArray, jacobian: FloatArray
) -> tuple[tuple[str, float, float, float], ...]:
    """Name, value and 95 % interval of each unknown, within its bounds."""
    error = np.sqrt(np.diag(np.linalg.pinv(jacobian.T @ jacobian, hermitian=True)))
    return tuple(
        (
            unknown.name,
            float(v),
            float(np.clip(v - 1.96 * e, unknown.low, unknown.high)),
            float(np.clip(v + 1.96 * e, unknown.low, unknown.high)),
        )
        for unknown, v, e in zip(hypothesis.unknowns, value, error, strict=True)
    )
