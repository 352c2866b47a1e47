"""The one axis of frequency, from calorics to head impulses."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from slowphase.report.drawing import FAINT, GRID

if TYPE_CHECKING:
    from collections.abc import Mapping

    from matplotlib.axes import Axes

LOWEST_HZ, HIGHEST_HZ = 0.002, 8.0
CALORIC_HZ, IMPULSE_HZ = (0.002, 0.0048), (1.8, 8.0)
TICKS_HZ = (0.003, 0.01, 0.04, 0.16, 0.64, 3)
NAMES = {"caloric": "calorics", "impulse": "impulses"}


def frequency_axis(axes: Axes, missing: Mapping[str, tuple[float, float]]) -> None:
    """A logarithmic axis on which the regions of tests that the session lacks say so."""
    axes.set_xscale("log")
    axes.set_xlim(LOWEST_HZ, HIGHEST_HZ)
    axes.set_xticks(TICKS_HZ, [f"{tick:g}" for tick in TICKS_HZ])
    axes.set_xticks([], minor=True)
    for test, (low, high) in missing.items():
        axes.axvspan(low, high, facecolor="none", edgecolor=GRID, hatch="////", lw=0)
        axes.text(np.sqrt(low * high), 0.5, f"{NAMES[test]}: not in this session", rotation=90,
                  transform=axes.get_xaxis_transform(), ha="center", va="center",
                  color=FAINT, fontsize=7.5)  # fmt: skip
