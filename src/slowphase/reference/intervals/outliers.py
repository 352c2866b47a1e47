"""Values that stand apart: Tukey's fences after a transformation to symmetry.

Fences lie 1.5 quartile distances beyond the quartiles of the values made symmetric (Horn, Feng, Li,
Pesce 2001, from memory). About 7 of 1000 values of a healthy normal group lie beyond them, so a
flag is a question, no verdict.
"""

import numpy as np

from slowphase.foundation.arrays import BoolArray, FloatArray
from slowphase.reference.intervals.symmetry import symmetry

FENCE = 1.5  # quartile distances


def outliers(values: FloatArray) -> BoolArray:
    """Which values of one group lie beyond the fences; none where half of them are the same."""
    if np.ptp(np.quantile(values, [0.25, 0.75])) <= 0.0:
        return np.zeros(values.shape, dtype=bool)
    level = symmetry(values).to(values)
    lower, upper = np.quantile(level, [0.25, 0.75])
    reach = FENCE * (upper - lower)
    return (level < lower - reach) | (level > upper + reach)
