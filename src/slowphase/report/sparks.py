"""Small charts made of characters, for a terminal or a text file."""

import numpy as np

from slowphase.foundation.arrays import FloatArray

BLOCKS = "▁▂▃▄▅▆▇█"
GAP = "·"


def sparkline(values: FloatArray, width: int, flat: float = 0.0) -> str:
    """The medians of ``width`` equal parts as blocks from lowest to highest; ``·`` is a gap.

    A range smaller than ``flat`` is drawn as if it were that wide, so that noise stays flat.
    """
    parts = [part[np.isfinite(part)] for part in np.array_split(values, width)]
    middles = np.array([np.median(part) if part.size else np.nan for part in parts])
    known = middles[np.isfinite(middles)]
    if not known.size:
        return GAP * width
    span = max(float(np.ptp(known)), flat)
    low = 0.5 * (float(known.min()) + float(known.max()) - span)
    return "".join(_block(value, low, span) for value in middles)


def _block(value: float, low: float, span: float) -> str:
    if not np.isfinite(value):
        return GAP
    if span == 0.0:
        return BLOCKS[3]
    return BLOCKS[min(int((value - low) / span * len(BLOCKS)), len(BLOCKS) - 1)]


def interval_bar(
    value: float,
    interval: tuple[float | None, float | None],
    band: tuple[float | None, float | None],
    axis: tuple[float, float],
    width: int,
) -> str:
    """A value ``●`` with its interval ``━`` over a reference band ``░`` on one line of text.

    What lies outside ``axis`` is drawn at its ends as ``<`` or ``>``.
    """
    line = [" "] * width
    _span(line, band, axis, "░")
    _span(line, interval, axis, "━")
    place = min(max(_column(value, axis, width), 0), width - 1)
    line[place] = "<" if value < axis[0] else ">" if value > axis[1] else "●"
    return "".join(line)


def _span(
    line: list[str], ends: tuple[float | None, float | None], axis: tuple[float, float], mark: str
) -> None:
    low, high = ends
    if low is None or high is None:
        return
    first, last = _column(low, axis, len(line)), _column(high, axis, len(line))
    for column in range(max(first, 0), min(last, len(line) - 1) + 1):
        line[column] = mark


def _column(value: float, axis: tuple[float, float], width: int) -> int:
    return round((value - axis[0]) / (axis[1] - axis[0]) * (width - 1))
