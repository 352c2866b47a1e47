"""Values that stand apart: Tukey's fences after a transformation to symmetry.

Fences lie 1.5 quartile distances beyond the quartiles of the values made symmetric (Horn, Feng, Li,
Pesce 2001, from memory). About 7 of 1000 values of a healthy normal group lie beyond them, so a
flag is a question, no verdict.
"""

import numpy as np

from slowphase.foundation.arrays import BoolArray, FloatArray
from slowphase.reference.intervals.symmetry import symmetry

FENCE = 1.5  # quartile distances
WILD = 3.0  # values so far out do not choose the transformation that judges them


def outliers(values: FloatArray) -> BoolArray:
    """Which values of one group lie beyond the fences; none where half of them are the same."""
    tame = ~_beyond(values, WILD)
    if np.ptp(np.quantile(values, [0.25, 0.75])) <= 0.0:
        return np.zeros(values.shape, dtype=bool)
    return _beyond(symmetry(values, fit_on=values[tame]).to(values), FENCE)


def _beyond(values: FloatArray, fence: float) -> BoolArray:
    lower, upper = np.quantile(values, [0.25, 0.75])
    reach = fence * (upper - lower)
    return (values < lower - reach) | (values > upper + reach)
