"""The plain time constant: 37 % of the raw peak, nothing taken away.

Shown beside the fitted one so that the reader sees what a spontaneous nystagmus does to it.
"""

import numpy as np

from slowphase.eye.slowphase import Pieces
from slowphase.measures.interval import NOTHING, Estimate
from slowphase.measures.lapses import median_within
from slowphase.measures.settings import MeasureSettings
from slowphase.measures.step import Change


def plain_time_constant(pieces: Pieces, change: Change, settings: MeasureSettings) -> Estimate:
    """Time (s) from the raw peak of slow-phase speed until it first falls to 37 % of it.

    Speed is taken against the change of chair velocity and smoothed by a running median of
    ``plain_smooth_s``. No interval: nothing in this value is estimated. Missing when the raw
    response never falls that far before the next change or the end.
    """
    after = (pieces.time_s >= change.start_s) & (pieces.time_s < change.until_s)
    time = pieces.time_s[after]
    speed = -np.sign(change.size_deg_s) * pieces.velocity_deg_s[after]
    if time.size < 5:
        return NOTHING
    smooth = median_within(time, speed, settings.plain_smooth_s)
    early = time <= change.stop_s + settings.plain_peak_within_s
    if not early.any() or smooth[early].max() <= 0:
        return NOTHING
    top = int(np.argmax(np.where(early, smooth, -np.inf)))
    below = np.flatnonzero(smooth[top:] < settings.plain_share * smooth[top])
    if below.size == 0:
        return NOTHING
    return Estimate(float(time[top + below[0]] - time[top]))
