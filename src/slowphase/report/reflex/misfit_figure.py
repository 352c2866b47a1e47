"""How far each trial is from the best common reflex: phases and decays, one row for each."""

from __future__ import annotations

from typing import TYPE_CHECKING

from slowphase.report.drawing import BAND, FAINT, SLOW, drawing_style, new_figure, to_svg
from slowphase.report.reflex.words import deviation_name, deviation_text

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from slowphase.fit.agreement import Agreement, Deviation
    from slowphase.fit.settings import FitSettings

ROW_IN = 0.2
TITLES = {"phase": "phase (deg, leads more →)", "decay": "decay (%, lasts longer →)"}
SPREAD = 1.96


def misfit_figure(agreement: Agreement, settings: FitSettings) -> str | None:
    """Deviations with their 95 % intervals as inline SVG; None where there are none to test."""
    if agreement.p is None:
        return None
    panels = {
        of: [d for d in agreement.deviations if d.of == of]
        for of in TITLES
        if any(d.of == of for d in agreement.deviations)
    }
    small = {"phase": settings.disagree_phase_deg, "decay": settings.disagree_decay_pct}
    with drawing_style("misfit"):
        figure = new_figure(10.0, 0.8 + ROW_IN * max(len(found) for found in panels.values()))
        axes = figure.subplots(1, len(panels), squeeze=False)[0]
        for panel, (of, found) in zip(axes, panels.items(), strict=True):
            _draw(panel, found, small[of])
            panel.set_title(TITLES[of])
        return to_svg(figure, misfit_label(agreement))


def misfit_label(agreement: Agreement) -> str:
    """The figure in words."""
    said = "; ".join(deviation_text(d) for d in agreement.deviations)
    return f"Deviation of each response from the best common reflex: {said}."


def _draw(axes: Axes, found: list[Deviation], small: float) -> None:
    axes.axvspan(-small, small, color=BAND, lw=0)
    axes.axvline(0.0, color=FAINT, lw=0.8)
    rows = range(len(found))
    for row, deviation in zip(rows, found, strict=True):
        reach = SPREAD * deviation.error
        axes.hlines(-row, deviation.value - reach, deviation.value + reach, color=SLOW, lw=2.0)
        axes.vlines(deviation.value, -row - 0.32, -row + 0.32, color=SLOW, lw=2.2)
    axes.set_yticks([-row for row in rows], [deviation_name(d) for d in found])
    axes.set_ylim(-len(found) + 0.4, 0.6)
    axes.grid(visible=False, axis="y")
    axes.tick_params(left=False)
