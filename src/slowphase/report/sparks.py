"""Small charts made of characters, for a terminal or a text file."""

import numpy as np

from slowphase.foundation.arrays import FloatArray

BLOCKS = "▁▂▃▄▅▆▇█"
GAP = "·"


def medians(values: FloatArray, parts: int) -> FloatArray:
    """The median of each of ``parts`` equal parts, shape (parts,); NaN where a part holds none."""
    known = [part[np.isfinite(part)] for part in np.array_split(values, parts)]
    return np.array([np.median(part) if part.size else np.nan for part in known])


def sparkline(middles: FloatArray, axis: tuple[float, float]) -> str:
    """Values as blocks from the lowest to the highest of ``axis``; ``·`` is a gap."""
    return "".join(_block(value, axis) for value in middles)


def _block(value: float, axis: tuple[float, float]) -> str:
    if not np.isfinite(value):
        return GAP
    low, high = axis
    place = int((value - low) / (high - low) * len(BLOCKS)) if high > low else 3
    return BLOCKS[min(max(place, 0), len(BLOCKS) - 1)]


def interval_bar(
    value: float,
    interval: tuple[float | None, float | None],
    band: tuple[float | None, float | None],
    axis: tuple[float, float],
    width: int,
    *,
    fill: str = "░",
) -> str:
    """A value ``●`` with its interval ``━`` over a reference band of ``fill`` on one line of text.

    What lies outside ``axis`` is drawn at its ends as ``<`` or ``>``.
    """
    line = [" "] * width
    _span(line, band, axis, fill)
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
