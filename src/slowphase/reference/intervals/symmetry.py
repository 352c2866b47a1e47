"""A power transformation that makes the values of a group symmetric (Yeo, Johnson 2000).

Values more than 3 quartile distances beyond the quartiles do not choose the power: one of them
would bend the rest. The values are centred by their median and scaled by their quartiles first, so
that the result is the same in every unit, and mirrored values give mirrored limits. All functions
take arrays whose last axis is the people; further axes are further groups.
"""

from dataclasses import dataclass

import numpy as np

from slowphase.foundation.arrays import BoolArray, FloatArray

POWERS = np.linspace(0.0, 2.0, 41)  # outside, the inverse ends before infinity
REFINE = np.linspace(-1.0, 1.0, 11)  # within a step of the coarse search
WILD = 3.0  # quartile distances
NEAR = 1e-9  # where the power is 0, its limit, the logarithm, holds
TO_SD = 1.349  # quartile distance of a normal distribution in its standard deviations


@dataclass(frozen=True, slots=True)
class Symmetry:
    """Centre and scale of a group in the values' unit, and the power; shapes (…, 1)."""

    centre: FloatArray
    scale: FloatArray
    power: FloatArray

    def to(self, values: FloatArray) -> FloatArray:
        """Values made symmetric."""
        return transformed((values - self.centre) / self.scale, self.power)

    def back(self, symmetric: FloatArray) -> FloatArray:
        """Symmetric values in the values' own unit."""
        return self.centre + self.scale * restored(symmetric, self.power)


def symmetry(values: FloatArray) -> Symmetry:
    """The transformation of largest normal likelihood of all values that are not far out."""
    lower, centre, upper = np.quantile(values, [0.25, 0.5, 0.75], axis=-1, keepdims=True)
    scale = (upper - lower) / TO_SD
    reach = WILD * (upper - lower)
    tame = (values >= lower - reach) & (values <= upper + reach)
    return Symmetry(centre, scale, likeliest_power((values - centre) / scale, tame)[..., None])


def transformed(x: FloatArray, power: FloatArray) -> FloatArray:
    """Yeo and Johnson's transformation of ``x``."""
    return np.where(
        x >= 0.0, _arm(np.maximum(x, 0.0), power), -_arm(np.maximum(-x, 0.0), 2.0 - power)
    )


def restored(y: FloatArray, power: FloatArray) -> FloatArray:
    """The inverse of `transformed`, for powers from 0 to 2."""
    return np.where(
        y >= 0.0, _unarm(np.maximum(y, 0.0), power), -_unarm(np.maximum(-y, 0.0), 2.0 - power)
    )


def likeliest_power(x: FloatArray, counts: BoolArray) -> FloatArray:
    """The power under which those of ``x`` that count are likeliest normal, from 0 to 2.

    One for each group.
    """
    shape = x.shape[:-1]
    coarse = np.stack([_likelihood(x, counts, np.full(shape, power)) for power in POWERS])
    best = POWERS[np.argmax(coarse, axis=0)]
    step = POWERS[1] - POWERS[0]
    around = np.stack([np.clip(best + step * part, POWERS[0], POWERS[-1]) for part in REFINE])
    fine = np.stack([_likelihood(x, counts, power) for power in around])
    return np.take_along_axis(around, np.argmax(fine, axis=0)[None], axis=0)[0]


def _likelihood(x: FloatArray, counts: BoolArray, power: FloatArray) -> FloatArray:
    spread = transformed(x, power[..., None]).var(axis=-1, where=counts)
    jacobian = (np.sign(x) * np.log1p(np.abs(x))).sum(axis=-1, where=counts)
    return -0.5 * counts.sum(axis=-1) * np.log(spread) + (power - 1.0) * jacobian


def _arm(x: FloatArray, power: FloatArray) -> FloatArray:
    flat = np.abs(power) < NEAR
    some = np.where(flat, 1.0, power)
    return np.where(flat, np.log1p(x), np.expm1(some * np.log1p(x)) / some)


def _unarm(y: FloatArray, power: FloatArray) -> FloatArray:
    flat = np.abs(power) < NEAR
    some = np.where(flat, 1.0, power)
    return np.where(flat, np.expm1(y), np.expm1(np.log1p(some * y) / some))
