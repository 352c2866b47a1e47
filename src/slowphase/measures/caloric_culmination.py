"""Where a caloric response culminates, how long it lasts, and whether it turns."""

from dataclasses import dataclass

import numpy as np

from slowphase.foundation.arrays import FloatArray
from slowphase.measures.caloric_curve import GRID_HZ, LEVEL, Curve
from slowphase.measures.caloric_settings import CaloricSettings

NEAR = 8  # grid steps (2 s) over which the curve of the ten-second means is differentiated
SLOPE_STEPS = 4  # grid steps (1 s) over which the curve itself is


@dataclass(frozen=True, slots=True)
class Windows:
    """Means of the curve over every stretch of ten seconds, arrays over w stretches.

    ``centre_s`` (w,) is their middle, ``rows`` (w, k − 2) gives the mean from the curve's
    parameters, ``seen_s`` (w,) is the slow phase without fixation in them.
    """

    centre_s: FloatArray
    rows: FloatArray
    seen_s: FloatArray


@dataclass(frozen=True, slots=True)
class Culmination:
    """The strongest ten seconds: the stretch of that index, and whether it is the last or first.

    ``raw`` and ``alone`` are slow phase with and without the spontaneous nystagmus (deg/s), each
    with its standard error; ``alone`` is None where that nystagmus is not known.
    """

    index: int
    centre_s: float
    raw: tuple[float, float]
    alone: tuple[float, float] | None
    at_edge: bool

    @property
    def response(self) -> tuple[float, float]:
        """Without the spontaneous nystagmus where that is known, else with it."""
        return self.alone or self.raw


def stretches(curve: Curve, settings: CaloricSettings) -> Windows:
    """Every stretch of the culmination's length in the recording; none where it is shorter."""
    steps = round(settings.culmination_s * GRID_HZ)
    count = max(curve.time_s.size - steps, 0)
    sums = np.vstack([np.zeros(curve.design.shape[1]), np.cumsum(curve.design, axis=0)])
    seen = np.concatenate([[0.0], np.cumsum(curve.seen_s)])
    return Windows(
        centre_s=curve.time_s[:count] + 0.5 * settings.culmination_s,
        rows=(sums[steps + 1 :] - sums[: -steps - 1])[:count] / (steps + 1),
        seen_s=(seen[steps:] - seen[:-steps])[:count],
    )


def alone(rows: FloatArray) -> FloatArray:
    """Rows of the curve without its level, the spontaneous nystagmus; shape as given."""
    without = rows.copy()
    without[..., 0] = 0.0
    return without


def culmination(curve: Curve, windows: Windows, settings: CaloricSettings) -> Culmination | None:
    """The stretch in which the response is strongest either way; None where none is seen enough.

    Where the spontaneous nystagmus is known, it is found without it.
    """
    seen = np.flatnonzero(windows.seen_s >= settings.culmination_seen_s)
    if curve.anchored:
        seen = seen[windows.centre_s[seen] >= curve.onset_s]
    if not seen.size:
        return None
    rows = alone(windows.rows) if curve.anchored else windows.rows
    means = rows @ curve.fit.parameters[LEVEL:]
    index = int(seen[np.argmax(np.abs(means[seen]))])
    return Culmination(
        index=index,
        centre_s=float(windows.centre_s[index]),
        raw=curve.estimate(windows.rows[index]),
        alone=curve.estimate(rows[index]) if curve.anchored else None,
        at_edge=index in (int(seen[-1]), int(windows.centre_s.size) - 1)
        or (index == 0 and not curve.anchored),
    )


def time_error_s(curve: Curve, windows: Windows, index: int) -> float | None:
    """Standard error of the time of the culmination: that of the slope there over the bend.

    None at the edges, and where the curve is not bent toward 0.
    """
    if index < NEAR or index + NEAR >= windows.centre_s.size:
        return None
    before, here, behind = (windows.rows[index + step] for step in (-NEAR, 0, NEAR))
    step_s = NEAR / GRID_HZ
    _, error = curve.estimate((behind - before) / (2 * step_s))
    bend, _ = curve.estimate((behind - 2 * here + before) / step_s**2)
    sign = np.sign(here @ curve.fit.parameters[LEVEL:])
    return error / abs(bend) if bend * sign < 0 else None


def end_of_response(
    curve: Curve, top: Culmination, settings: CaloricSettings
) -> tuple[float, float] | None:
    """When the response has fallen to a share of its culmination, and the standard error (s).

    None where it has not by the end of the recording.
    """
    rows = alone(curve.design)
    size = np.sign(top.response[0]) * (rows @ curve.fit.parameters[LEVEL:])
    limit = settings.duration_share * abs(top.response[0])
    ended = np.flatnonzero((curve.time_s > top.centre_s) & (size <= limit))
    if not ended.size:
        return None
    at = int(ended[0])
    first, last = max(at - SLOPE_STEPS, 0), min(at + SLOPE_STEPS, size.size - 1)
    slope = (size[last] - size[first]) * GRID_HZ / (last - first)
    _, error = curve.estimate(rows[at])
    return float(curve.time_s[at]), error / max(abs(float(slope)), 1e-3)


def reverses(
    curve: Curve, windows: Windows, top: Culmination, until_s: float, settings: CaloricSettings
) -> bool:
    """Whether the response surely turns to the other side between its culmination and a time."""
    after = (windows.centre_s > top.centre_s) & (windows.centre_s < until_s)
    later = np.flatnonzero(after & (windows.seen_s >= settings.culmination_seen_s))
    if not later.size:
        return False
    rows = -np.sign(top.response[0]) * alone(windows.rows[later])
    index = int(np.argmax(rows @ curve.fit.parameters[LEVEL:]))
    value, error = curve.estimate(rows[index])
    return value - settings.response_sd * error > settings.reversal_min_deg_s
