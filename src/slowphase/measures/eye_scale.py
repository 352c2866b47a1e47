"""Whether an eye moves too little for its column to be in degrees."""

import numpy as np

from slowphase.foundation.arrays import FloatArray
from slowphase.foundation.median import quantile
from slowphase.measures.eye_scale_settings import EyeScaleSettings
from slowphase.measures.prepare import Prepared

OUTER = 0.01  # of the samples at either end: blinks and stray samples are no movement


def moves_too_little(prepared: Prepared, settings: EyeScaleSettings) -> bool:
    """Whether movement and noise are both those of an eye in rad that is read as deg.

    The plane that moves most counts, so that a vertical pursuit is no still eye.
    """
    time_s = prepared.recording.time_s
    if time_s[-1] - time_s[0] < settings.seconds_min:
        return False
    if not 0.0 < prepared.horizontal.noise_deg < settings.noise_min_deg:
        return False
    planes = [prepared.horizontal, prepared.vertical]
    spans = [span_deg(tracked.trace.position_deg) for tracked in planes if tracked is not None]
    return max(spans) < settings.span_min_deg


def span_deg(position_deg: FloatArray) -> float:
    """Span (deg) of the middle 98 % of the samples of shape (n,); endless where none is there."""
    seen = position_deg[np.isfinite(position_deg)]
    if seen.size == 0:
        return float("inf")
    return quantile(seen, 1.0 - OUTER) - quantile(seen, OUTER)
