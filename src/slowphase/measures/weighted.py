"""Values of the same thing as one, by inverse variance, and whether they agree.

    mean  = Σ wᵢ·vᵢ / Σ wᵢ        wᵢ = 1/sᵢ²,   standard error (Σ wᵢ)^-½
    ratio = √(χ² / (n − 1))       χ² = Σ wᵢ·(vᵢ − mean)²

The ratio is Birge's (1932): about 1 where the values scatter as their errors say. Every pooling of
the project takes its numbers from here.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

SURELY = 0.01  # chance under which values disagree: a repeated trial has some ten such values


@dataclass(frozen=True, slots=True)
class Weighted:
    """The mean with its standard error by the weights alone, Birge's ratio, and the chance
    (0 to 1) of a scatter as large where the errors hold; 1 for one value."""

    value: float
    error: float
    ratio: float
    chance: float

    @property
    def disagree(self) -> bool:
        """Whether the values surely differ by more than their errors allow."""
        return self.ratio > 1.0 and self.chance < SURELY

    @property
    def widened(self) -> float:
        """The standard error times Birge's ratio where that exceeds 1."""
        return self.error * max(self.ratio, 1.0)

    @property
    def held(self) -> float:
        """The standard error, widened only where the values disagree: others keep theirs."""
        return self.widened if self.disagree else self.error


def weighted(values: Sequence[float], errors: Sequence[float]) -> Weighted:
    """The mean of n values with n standard errors above 0, in any one unit.

    A value whose error is infinite counts only where all are: the plain mean, of infinite error.
    """
    sure = [(v, e) for v, e in zip(values, errors, strict=True) if math.isfinite(e)]
    if not sure:
        return Weighted(math.fsum(values) / len(values), math.inf, 0.0, 1.0)
    values, weights = [v for v, _ in sure], [e**-2.0 for _, e in sure]
    total = math.fsum(weights)
    mean = math.fsum(w * v for w, v in zip(weights, values, strict=True)) / total
    chi2 = math.fsum(w * (v - mean) ** 2 for w, v in zip(weights, values, strict=True))
    free = len(weights) - 1
    ratio = math.sqrt(chi2 / free) if free else 0.0
    return Weighted(mean, total**-0.5, ratio, chance_beyond(chi2, free) if free else 1.0)


def chance_beyond(chi2: float, degrees: int) -> float:
    """Probability that chi-squared exceeds ``chi2`` (Abramowitz, Stegun 1964, 26.4.4, 26.4.5)."""
    half = chi2 / 2.0
    if half == 0.0:
        return 1.0
    start = 2 - degrees % 2
    beyond = math.erfc(math.sqrt(half)) if start == 1 else math.exp(-half)
    for step in range(start, degrees, 2):
        beyond += math.exp(0.5 * step * math.log(half) - half - math.lgamma(0.5 * step + 1.0))
    return beyond
