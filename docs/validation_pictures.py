"""Pictures of the page of validation, drawn from the results of the benchmarks alone.

Colours are those of Okabe and Ito (2008); nothing rests on colour alone.
"""

from collections.abc import Callable, Sequence
from math import log
from pathlib import Path
from typing import TYPE_CHECKING

from benchmarks import aims
from slowphase.report.drawing import BAND, FIT, INK, SLOW, drawing_style, new_figure

from .validation import (
    LIMITED,
    Results,
    Row,
    bounded,
    by_kind,
    named,
    studied,
    validation_page,
)

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

PICTURES = Path(__file__).parent / "pictures"
GREEN, ORANGE, PURPLE = "#009e73", "#e69f00", "#cc79a7"
LOOKS = ((SLOW, "o"), (FIT, "s"), (GREEN, "^"), (PURPLE, "D"), (ORANGE, "v"))
LEAST, MOST = 0.1, 30.0
RATIO_TICKS = {0.1: "0.1", 0.3: "0.3", 1.0: "1 = aim", 3.0: "3", 10.0: "10"}


def draw_results(found: Results) -> None:
    """Every picture that the page shows of these results."""
    page = validation_page(found)
    pictures: dict[str, tuple[str, Callable[[list[Row]], Figure]]] = {
        "accuracy": ("accuracy", accuracy),
        "detection": ("detection", detection),
        "coverage": ("coverage", coverage),
        "efficiency": ("coverage", efficiency),
        "limits": ("limits", limits),
    }
    for name, (benchmark, draw) in pictures.items():
        file = PICTURES / f"validation-{name}.svg"
        if file.name not in page:
            continue
        with drawing_style(file.stem):
            draw(found[benchmark]).savefig(file, metadata={"Date": None}, facecolor="white")


def accuracy(rows: list[Row]) -> "Figure":
    """Median, 90 % and worst sound error of each measure over its aim, and the plain script's."""
    usual = by_kind(row for row in rows if row["recordings"] == "usual")
    usual = [row for row in usual if (row["kind"], row["measure"]) in aims.AIMS]
    figure = new_figure(7.2, 0.32 * len(usual) + 1.1)
    axes = figure.subplots()
    for place, row in enumerate(usual):
        aim = aims.AIMS[row["kind"], row["measure"]]
        _against(axes, place - 0.2, row["median"], aim.median, SLOW, "o")
        _against(axes, place, row["p90"], aim.p90, FIT, "s")
        _against(axes, place + 0.2, row["worst_sound"], aim.worst_sound, GREEN, "^")
        if "plain_p90" in row:
            _against(axes, place, row["plain_p90"], aim.p90, INK, "x")
    for colour, marker, label in (
        (SLOW, "o", "median"),
        (FIT, "s", "90 %"),
        (GREEN, "^", "worst that is graded sound"),
        (INK, "x", "90 % of the plain script"),
    ):
        axes.plot([], [], marker, color=colour, markersize=5, label=label)
    axes.axvline(1.0, color=INK, linewidth=0.8)
    axes.set(xscale="log", xlabel="error over its aim (at the right edge: beyond it, or missing)")
    _ratio_axis(axes.xaxis)
    axes.set_xlim(0.8 * LEAST, 1.25 * MOST)
    _categories(axes, [named(r["kind"], r["measure"]) for r in usual])
    figure.legend(loc="outside upper center", ncols=4)
    return figure


def _against(
    axes: "Axes", place: float, error: float | None, aim: float, colour: str, marker: str
) -> None:
    ratio = MOST if error is None else min(max(error / aim, LEAST), MOST)
    axes.plot(ratio, place, marker, color=colour, markersize=5, clip_on=False)


def _ratio_axis(axis) -> None:
    from matplotlib.ticker import NullFormatter

    axis.set_ticks(list(RATIO_TICKS), labels=list(RATIO_TICKS.values()))
    axis.set_minor_formatter(NullFormatter())


def _categories(axes: "Axes", names: Sequence[str]) -> None:
    axes.set_yticks(range(len(names)), labels=names)
    axes.set_ylim(len(names) - 0.5, -0.5)


def detection(rows: list[Row]) -> "Figure":
    """Recall and precision against noise, a column per sampling rate, a line per size."""
    table: dict[str, dict[str, list[tuple[float, Row]]]] = {}
    for row in rows:
        parts = row["recording"].split(", ")
        if parts[0] == "simulated" and row["size_deg"] != "over 0.25":
            sizes = table.setdefault(parts[1], {})
            sizes.setdefault(row["size_deg"], []).append((float(parts[2].split()[0]), row))
    figure = new_figure(7.2, 4.0)
    layout = {"sharex": True, "sharey": "row", "squeeze": False, "height_ratios": (2, 1)}
    grid = figure.subplots(2, len(table), **layout)
    for column, (rate, sizes) in zip(grid.T, table.items(), strict=True):
        column[0].set_title(rate)
        column[1].set_xlabel("noise of position (deg)")
        for axes, key in zip(column, ("recall", "precision"), strict=True):
            for (colour, marker), (size, points) in zip(LOOKS, sizes.items(), strict=False):
                seen = [(noise, row[key]) for noise, row in points if row[key] is not None]
                noises, shares = zip(*seen, strict=True)
                axes.plot(noises, shares, marker=marker, color=colour, markersize=4, label=size)
    noises = sorted({noise for sizes in table.values() for s in sizes.values() for noise, _ in s})
    _noise_axis(grid[0, 0], noises)
    grid[1, 0].set_ylim(0.79, 1.02)
    for axes, name in zip(grid[:, 0], ("recall", "precision"), strict=True):
        axes.set_ylabel(name)
    handles, labels = grid[0, 0].get_legend_handles_labels()
    figure.legend(
        handles, [f"{label} deg" for label in labels], loc="outside upper center", ncols=4
    )
    return figure


def _noise_axis(axes: "Axes", noises: Sequence[float]) -> None:
    from matplotlib.ticker import NullFormatter, NullLocator

    axes.set(xscale="log", ylim=(-0.03, 1.03))
    axes.set_xticks(noises, labels=[f"{noise:g}" for noise in noises])
    axes.xaxis.set_minor_locator(NullLocator())
    axes.xaxis.set_minor_formatter(NullFormatter())


def coverage(rows: list[Row]) -> "Figure":
    """Covered share by measure and regime with binomial intervals, and the band aimed at."""
    figure, axes = _by_measure(rows)
    low, high = aims.COVERAGE_STUDY_PCT
    axes.axvspan(low, high, color=BAND, zorder=0)
    axes.axvline(95.0, color=INK, linewidth=0.8)
    for place, row, colour, marker in _placed(rows):
        share = row["coverage_pct"]
        least, most = wilson_pct(share, round(row["n"] * row["given_pct"] / 100))
        axes.plot([least, most], [place, place], color=colour, linewidth=1.0)
        axes.plot(share, place, marker, color=colour, markersize=4)
    axes.set_xlabel("95 % intervals that hold the truth (%)")
    return figure


def wilson_pct(share_pct: float, count: int) -> tuple[float, float]:
    """95 % interval of a share in percent (Wilson 1927, from memory)."""
    z, share = 1.959964, share_pct / 100
    middle = (share + z**2 / (2 * count)) / (1 + z**2 / count)
    half = z * (share * (1 - share) / count + z**2 / (4 * count**2)) ** 0.5 / (1 + z**2 / count)
    return 100 * (middle - half), 100 * (middle + half)


def efficiency(rows: list[Row]) -> "Figure":
    """Variance over that of the oracle by measure and regime; over the bound where it is known."""
    from matplotlib.ticker import NullFormatter

    ticks = (0.5, 0.7, 1.0, 1.5, 2.0, 3.0, 5.0)
    figure, axes = _by_measure(rows)
    axes.axvspan(1.0, aims.EFFICIENCY, color=BAND, zorder=0)
    axes.axvline(1.0, color=INK, linewidth=0.8)
    for place, row, colour, marker in _placed(rows):
        ratio = min(max(row["variance_over_oracle"], ticks[0]), ticks[-1])
        axes.plot(ratio, place, marker, color=colour, markersize=4, clip_on=False)
        if bounded(row):
            over = min(max(row["variance_over_bound"], ticks[0]), ticks[-1])
            axes.plot(over, place, marker, color=colour, markersize=5, markerfacecolor="white")
    axes.set(
        xscale="log",
        xlabel="variance over the oracle's (hollow: over the bound; at an end: beyond)",
    )
    axes.set_xlim(0.95 * ticks[0], 1.05 * ticks[-1])
    axes.xaxis.set_minor_formatter(NullFormatter())
    axes.set_xticks(ticks, labels=[f"{tick:g}" for tick in ticks])
    return figure


def _by_measure(rows: list[Row]) -> "tuple[Figure, Axes]":
    measures = list(dict.fromkeys(row["measure"] for row in rows))
    figure = new_figure(7.2, 0.42 * len(measures) + 1.0)
    axes = figure.subplots()
    regimes = dict.fromkeys(row["regime"] for row in rows)
    for regime, (colour, marker) in zip(regimes, LOOKS, strict=False):
        axes.plot([], [], marker, color=colour, markersize=4, label=regime)
    _categories(axes, [studied(measure) for measure in measures])
    figure.legend(loc="outside upper center", ncols=len(regimes))
    return figure, axes


def _placed(rows: list[Row]) -> list[tuple[float, Row, str, str]]:
    """Each row with its place on the axis of measures, its colour and its marker."""
    measures = list(dict.fromkeys(row["measure"] for row in rows))
    regimes = list(dict.fromkeys(row["regime"] for row in rows))
    placed = []
    for row in rows:
        index = regimes.index(row["regime"])
        offset = 0.15 * (index - (len(regimes) - 1) / 2)
        placed.append((measures.index(row["measure"]) + offset, row, *LOOKS[index % len(LOOKS)]))
    return placed


def limits(rows: list[Row]) -> "Figure":
    """90 % error over its aim against each factor, one panel for each."""
    names = list(dict.fromkeys(row["factor"] for row in rows))
    across = 4
    down = -(-len(names) // across)
    figure = new_figure(9.6, 2.1 * down + 0.5)
    grid = figure.subplots(down, across, sharey=True, squeeze=False)
    for axes, name in zip(grid.flat, names, strict=False):
        _panel(axes, name, [row for row in rows if row["factor"] == name])
    for axes in grid.flat[len(names) :]:
        axes.set_visible(False)
    for axes in grid[:, 0]:
        axes.set_ylabel("90 % error over aim")
    handles, labels = grid[0, 0].get_legend_handles_labels()
    figure.legend(handles, labels, loc="outside upper center", ncols=len(labels))
    return figure


def _panel(axes: "Axes", name: str, rows: list[Row]) -> None:
    levels = list(dict.fromkeys(row["level"] for row in rows))
    axes.axhline(1.0, color=INK, linewidth=0.8)
    for key, (colour, marker) in zip(LIMITED, LOOKS, strict=True):
        own = [row for row in rows if (row["kind"], row["measure"]) == key]
        if own:
            _line(axes, own, levels, colour, marker)
    axes.set_title(name)
    axes.set_xlabel(rows[0]["level_unit"], labelpad=1)
    axes.set_xticks(range(len(levels)), labels=[f"{level:g}" for level in levels])
    axes.tick_params(axis="x", labelsize=7)
    axes.set(yscale="log", ylim=(0.8 * LEAST, 1.4 * MOST))
    _ratio_axis(axes.yaxis)


def _line(axes: "Axes", rows: list[Row], levels: list[float], colour: str, marker: str) -> None:
    """Filled where at least half of the values are graded sound, hollow where fewer are; at the
    upper edge what is beyond it or missing; a stroke where the line crosses the aim."""
    aim = aims.AIMS[rows[0]["kind"], rows[0]["measure"]].p90
    places = [levels.index(row["level"]) for row in rows]
    ratios = [_clipped(row["p90"], aim) for row in rows]
    label = named(rows[0]["kind"], rows[0]["measure"])
    axes.plot(places, ratios, color=colour, linewidth=1.0, marker=marker, markersize=4, label=label)
    doubtful = [i for i, row in enumerate(rows) if row["sound_pct"] < 50.0]
    axes.plot(
        [places[i] for i in doubtful],
        [ratios[i] for i in doubtful],
        marker,
        color=colour,
        markerfacecolor="white",
        markersize=4,
    )
    crossing = crossed(places, ratios)
    if crossing is not None:
        axes.plot(crossing, 1.0, "|", color=colour, markersize=14, markeredgewidth=1.5)


def _clipped(error: float | None, aim: float) -> float:
    return MOST if error is None else min(max(error / aim, LEAST), MOST)


def crossed(places: Sequence[float], ratios: Sequence[float]) -> float | None:
    """Where a ratio first rises above 1, on a line through its logarithms; None if nowhere."""
    for index in range(1, len(ratios)):
        before, after = log(ratios[index - 1]), log(ratios[index])
        if before <= 0.0 < after:
            return places[index - 1] + (places[index] - places[index - 1]) * -before / (
                after - before
            )
    return None
