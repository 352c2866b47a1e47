"""Whether a channel shows an eye at all."""

import numpy as np

from slowphase.foundation.arrays import FloatArray

FEWEST = 10
FROZEN_SHARE = 0.8


def is_alive(eye: FloatArray) -> bool:
    """Whether an eye's trace moves: a tracker that lost the eye may repeat one value.

    ``eye`` has shape (n,), NaN where lost. Coarse steps and frames that are held over several
    samples are ordinary; one value for most of the recording is not.
    """
    finite = eye[np.isfinite(eye)]
    if finite.size < FEWEST:
        return False
    changed = finite[1:] != finite[:-1]
    most = FROZEN_SHARE * finite.size
    if finite.size - np.count_nonzero(changed) <= most:
        return True  # each change ends a value: none can last for longer
    moved = np.flatnonzero(changed)
    return int(np.max(np.diff(np.r_[-1, moved, finite.size - 1]))) <= most
