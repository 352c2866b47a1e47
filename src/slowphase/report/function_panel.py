"""Function of one side, or of both together, as shares of the lowest that counts as healthy."""

from __future__ import annotations

from typing import TYPE_CHECKING

from slowphase.reading.words import interval, number, quantity
from slowphase.reference.sets import marks
from slowphase.report.drawing import BAND, BAND_CORE, FAINT, INK, SLOW
from slowphase.report.frequency_axis import CALORIC_HZ, IMPULSE_HZ, frequency_axis
from slowphase.report.labels import LETTERS, word

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from matplotlib.axes import Axes

    from slowphase.reading.function import FunctionPoint

TESTS = {"caloric": CALORIC_HZ, "impulse": IMPULSE_HZ}
LEAST_TOP = 1.6
BAND_WIDTH = 1.3  # half the width of a band, as a factor
ROOM_BELOW = 0.15  # share of the axis that a name needs below its mark
MARGIN = 0.08  # below the lowest mark


def draw_function(
    axes: Axes, points: Iterable[FunctionPoint], ends: tuple[float, float], *, apart: bool
) -> None:
    """The points of one side; chair values by exciting direction in a lighter mark.

    ``apart`` says that calorics and impulses of this side belong here, so that their lack shows.
    """
    shown = list(points)
    there = {point.test for point in shown}
    missing = {test: span for test, span in TESTS.items() if apart and test not in there}
    frequency_axis(axes, missing)
    axes.set_ylim(*ends)
    axes.axhline(1.0, color=INK, lw=0.8)
    _healthy(axes, shown)
    if not apart:
        axes.text(0.99, 0.98, "lowest healthy", transform=axes.get_yaxis_transform(), ha="right",
                  va="top", fontsize=6.5, color=FAINT)  # fmt: skip
    for test in ("sinusoid", "step", "caloric", "impulse"):
        _mark(axes, [point for point in shown if point.test == test])
    for point in shown:
        if point.test in TESTS:
            below = point.share > ROOM_BELOW * ends[1]
            axes.annotate(word("short", point.test), (point.frequency_hz, point.share),
                          xytext=(0, -11 if below else 6), textcoords="offset points",
                          ha="center", fontsize=7, color=INK)  # fmt: skip


def _healthy(axes: Axes, shown: list[FunctionPoint]) -> None:
    """The healthy range of each place that has one, and its middle."""
    known = {p.frequency_hz: p.healthy_share for p in shown if p.healthy_share is not None}
    for frequency, (middle, highest) in known.items():
        x = (frequency / BAND_WIDTH, frequency * BAND_WIDTH)
        axes.fill_between(x, 1.0, highest, color=BAND, lw=0)
        axes.plot(x, (middle, middle), color=BAND_CORE, lw=2.0, solid_capstyle="butt")


def _mark(axes: Axes, shown: list[FunctionPoint]) -> None:
    if not shown:
        return
    light = shown[0].exciting
    colour, width = (FAINT, 1.2) if light else (SLOW, 2.2)
    x, y = [p.frequency_hz for p in shown], [p.share for p in shown]
    if shown[0].test == "sinusoid":
        axes.plot(x, y, color=colour, lw=0.6, alpha=0.6)
    axes.plot(x, y, color=colour, lw=0, marker="_", ms=9, mew=width)
    for point in shown:
        if point.low is not None and point.high is not None:
            axes.vlines(point.frequency_hz, point.low, point.high, color=colour, lw=width)


def ends_of(points: Sequence[FunctionPoint]) -> tuple[float, float]:
    """The ends of the axis, from 0 where nothing is below it: no point and no interval is cut."""
    shown = [end for p in points for end in (p.share, p.low, p.high) if end is not None]
    shown += [p.healthy_share[1] for p in points if p.healthy_share is not None]
    low = min([0.0, *shown])
    return low - MARGIN if low < 0.0 else 0.0, max([LEAST_TOP, *(1.08 * end for end in shown)])


def function_rows(points: Iterable[FunctionPoint]) -> Iterator[list[str]]:
    """Each point as a row: frequency, test, side, value, share with interval, lowest, source."""
    for point in points:
        side = "both" if point.side is None else LETTERS[point.side]
        low, high = (None if end is None else 100.0 * end for end in (point.low, point.high))
        yield [
            f"{point.frequency_hz:g} Hz",
            word("kind", point.test),
            f"exciting {side}" if point.exciting else side,
            quantity(point.value, point.unit),
            f"{number(100.0 * point.share, '%')} %",
            interval(low, high, "%"),
            quantity(point.healthy.lowest, point.unit),
            f"{point.healthy.source}; {marks()[point.healthy.mark].text}",
        ]
