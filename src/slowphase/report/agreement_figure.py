"""A comparison of tests as a small picture: rows on one axis, a panel for each unit."""

from __future__ import annotations

from typing import TYPE_CHECKING

from slowphase.reading.words import unit_words, with_interval
from slowphase.report.drawing import BAND, FAINT, SLOW, drawing_style, new_figure, to_svg

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from slowphase.reading.agreement import Comparison
    from slowphase.reading.agreement.comparison import Panel, Row

WIDTH_IN, ROW_IN, FRAME_IN = 10.0, 0.22, 0.75
TICK, TICKS = 0.32, 6


def agreement_figure(found: Comparison) -> str | None:
    """The panels of a comparison side by side as inline SVG; None where it has none."""
    if not found.panels:
        return None
    most = max(len(panel.rows) for panel in found.panels)
    with drawing_style(f"agreement-{found.code}"):
        figure = new_figure(WIDTH_IN, FRAME_IN + ROW_IN * most)
        axes = figure.subplots(1, max(len(found.panels), 2), squeeze=False)[0]
        for place, panel in zip(axes, found.panels, strict=False):
            _draw(place, panel, most)
        for place in axes[len(found.panels) :]:
            place.set_visible(False)
        return to_svg(figure, agreement_label(found))


def agreement_label(found: Comparison) -> str:
    """The picture in words."""
    told = "; ".join(
        f"{p.title}: {', '.join(_said(p, row) for row in p.rows)}" for p in found.panels
    )
    return f"{found.title}. {told}."


def _said(panel: Panel, row: Row) -> str:
    shown = with_interval(row.value, row.low, row.high, panel.unit)
    left, right = panel.ends
    way = "" if not left else f" to {right if row.value > 0.0 else left}"
    return f"{row.label} {shown}{way}"


def _draw(axes: Axes, panel: Panel, most: int) -> None:
    if panel.ends[0] or any(row.value < 0.0 for row in panel.rows):
        axes.axvline(0.0, color=FAINT, lw=0.8)
    for place, row in enumerate(panel.rows):
        _draw_row(axes, row, -float(place))
    axes.set_yticks([-float(n) for n in range(len(panel.rows))], [r.label for r in panel.rows])
    axes.set_ylim(-most + 0.4, 0.6)
    axes.set_xlim(*_limits(panel))
    axes.locator_params(axis="x", nbins=TICKS)
    left, right = panel.ends
    unit = unit_words(panel.unit) or "ratio"
    axes.set_xlabel(f"{left} ← {unit} → {right}" if left else unit)
    axes.set_title(panel.title)
    axes.grid(visible=False, axis="y")
    axes.tick_params(left=False)


def _draw_row(axes: Axes, row: Row, at: float) -> None:
    if row.expected is not None:
        low, high = row.expected
        axes.broken_barh([(low, high - low)], (at - 0.4, 0.8), facecolor=BAND, edgecolor=FAINT,
                         lw=0.8)  # fmt: skip
    if row.low is not None and row.high is not None:
        axes.hlines(at, row.low, row.high, color=SLOW, lw=2.0)
    axes.vlines(row.value, at - TICK, at + TICK, color=SLOW, lw=2.2)


def _limits(panel: Panel) -> tuple[float, float]:
    """The ends of the axis: 0 and every value in it, alike on both sides where it has ends."""
    known = [
        end
        for row in panel.rows
        for end in (row.value, row.low, row.high, *(row.expected or ()))
        if end is not None
    ]
    low, high = min(0.0, *known), max(0.0, *known)
    if panel.ends[0]:
        reach = 1.08 * max(-low, high, 1.0)
        return -reach, reach
    spare = 0.06 * max(high - low, 1e-6)
    return low - (spare if low < 0.0 else 0.0), high + spare
