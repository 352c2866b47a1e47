"""The median of many small arrays."""

import numpy as np

from slowphase.foundation.arrays import FloatArray


def median(values: FloatArray) -> float:
    """The median of finite values, shape (n,), n > 0: that of ``np.median``, to the last bit.

    It costs a third where there are few values: there is no axis and no NaN to look for.
    """
    above = values.size // 2
    below = (values.size - 1) // 2
    ordered = np.partition(values, (below, above))
    return 0.5 * float(ordered[below] + ordered[above])
