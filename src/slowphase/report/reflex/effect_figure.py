"""What each parameter outside the healthy range does to each measure: one stem for each trial."""

from __future__ import annotations

from textwrap import fill
from typing import TYPE_CHECKING

from slowphase.report.drawing import FAINT, INK, SLOW, drawing_style, new_figure, to_svg
from slowphase.report.reflex.words import SHOWN_EFFECTS, effect_name, moved_out, response_name

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from slowphase.fit.effects import Effect
    from slowphase.fit.result import SessionReflex

ROW_IN = 1.25
LABEL_COLUMNS = 18
LEAST_SPAN = {"time_constant_raw": 1.0, "asymmetry": 10.0, "phase": 5.0, "gain": 0.1}


def effect_figure(reflex: SessionReflex) -> str | None:
    """The effects as inline SVG, a row for each parameter that moved; None where none did."""
    moved = [m.parameter for m in moved_out(reflex)]
    named = [(name, unit) for name, unit in SHOWN_EFFECTS if _of_measure(reflex, name)]
    if not moved or not named:
        return None
    with drawing_style("effects"):
        figure = new_figure(10.0, 0.6 + ROW_IN * len(moved))
        panels = figure.subplots(len(moved), len(named), squeeze=False, sharex="col", sharey="col")
        for row, parameter in zip(panels, moved, strict=True):
            for axes, (name, _) in zip(row, named, strict=True):
                found = [e for e in _of_measure(reflex, name) if e.parameter == parameter.name]
                _stems(axes, found, LEAST_SPAN[name])
            row[0].set_ylabel(fill(parameter.text, LABEL_COLUMNS), fontsize=7.5)
        for axes, (name, unit) in zip(panels[0], named, strict=True):
            axes.set_title(f"{effect_name(name)}{'' if unit == '1' else f' ({unit})'}")
        return to_svg(figure, effect_label(reflex))


def effect_label(reflex: SessionReflex) -> str:
    """The figure in words."""
    names = ", ".join(m.parameter.text for m in moved_out(reflex))
    return (
        "How far each parameter outside the healthy range moves each measure of each trial; the "
        f"parameters are: {names}."
    )


def _of_measure(reflex: SessionReflex, name: str) -> list[Effect]:
    return [effect for effect in reflex.effects if effect.name == name]


def _stems(axes: Axes, found: list[Effect], least: float) -> None:
    places = range(len(found))
    axes.axhline(0.0, color=FAINT, lw=0.8)
    changes = [0.0 if e.change is None else e.change for e in found]
    axes.vlines(list(places), 0.0, changes, color=SLOW, lw=4.0)
    for place, effect in zip(places, found, strict=True):
        if effect.value is not effect.without and effect.change is None:
            text = "never reached" if effect.value is None else "reached only so"
            axes.text(place, 0.04, text, rotation=90, fontsize=6.5, color=INK, ha="center",
                      va="bottom", transform=axes.get_xaxis_transform())  # fmt: skip
    axes.set_xticks(list(places), [response_name(e) for e in found], rotation=90, fontsize=7)
    axes.set_xlim(-0.7, max(len(found), 1) - 0.3)
    low, high = axes.get_ylim()
    lowest, highest = min(changes, default=0.0), max(changes, default=0.0)
    axes.set_ylim(min(low, 1.1 * lowest, -least), max(high, 1.1 * highest, least))
    axes.grid(visible=False, axis="x")
