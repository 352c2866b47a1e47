"""What each sign earns the nearest patterns: one row for a sign, one panel for a pattern."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING

from slowphase.report.drawing import FAINT, INK, SLOW, drawing_style, new_figure, to_svg

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from slowphase.reading.patterns import Pattern, PatternReading
    from slowphase.reading.signs import Sign

PANELS = 3
ROW_IN = 0.2
WIDEST = 4.6  # points: the most that one sign can take away, and a little
TITLE_CHARACTERS = 34


def pattern_figure(reading: PatternReading) -> str | None:
    """The signs that tell the nearest patterns apart, as inline SVG; None where none does."""
    patterns = [p for p in reading.ranking if p.code != "not_interpretable"][:PANELS]
    rows = telling_signs(patterns)
    if not rows:
        return None
    with drawing_style("patterns"):
        figure = new_figure(10.0, 1.0 + ROW_IN * len(rows))
        axes = figure.subplots(1, len(patterns), squeeze=False, sharey=True)[0]
        for panel, pattern in zip(axes, patterns, strict=True):
            _draw(panel, pattern, rows)
        axes[0].set_yticks([-row for row in range(len(rows))], [_name(sign) for sign in rows])
        axes[0].set_ylim(-len(rows) + 0.4, 0.6)
        return to_svg(figure, pattern_label(patterns))


def telling_signs(patterns: list[Pattern]) -> list[Sign]:
    """The signs that speak clearly for or against one of the patterns, those seen first."""
    found = [w.sign for p in patterns for w in (*p.fit, *p.against) if p.code != "normal"]
    found += [w.sign for p in patterns for w in p.against]
    own = {sign.code: sign for sign in found}
    return sorted(own.values(), key=lambda sign: -(sign.chance or 0.0))


def pattern_label(patterns: list[Pattern]) -> str:
    """The figure in words."""
    return " ".join(
        f"{p.title}: {_earned('for', [w.sign.title for w in p.fit if p.code != 'normal'])}"
        f"{_earned('against', [w.sign.title for w in p.against])}"
        for p in patterns
    )


def _earned(way: str, titles: list[str]) -> str:
    return f"{way} it {', '.join(titles)}. " if titles else ""


def _name(sign: Sign) -> str:
    """A sign with whether it was seen."""
    chance = sign.chance or 0.0
    seen = "yes" if chance >= 0.95 else "no" if chance <= 0.05 else f"{100 * chance:.0f} %"
    return f"{sign.title} – {seen}"


def _draw(axes: Axes, pattern: Pattern, rows: list[Sign]) -> None:
    points = {w.sign.code: w.points for w in pattern.weighed}
    for row, sign in enumerate(rows):
        earned = points.get(sign.code, 0.0)
        axes.barh(-row, earned, height=0.62, color=SLOW if earned > 0 else INK, lw=0)
    axes.axvline(0.0, color=FAINT, lw=0.8)
    axes.set_xlim(-WIDEST, 1.3)
    axes.set_title(textwrap.fill(pattern.title, TITLE_CHARACTERS))
    axes.set_xlabel("← against  |  for →")
    axes.grid(visible=False, axis="y")
    axes.tick_params(left=False)
