"""The course picture: one small panel for each key measure over time, events on the time axis."""

from __future__ import annotations

from itertools import cycle
from math import ceil
from typing import TYPE_CHECKING

from slowphase.course.series import usable
from slowphase.reading.words import with_interval
from slowphase.report.course_panels import Line, Panel, panels
from slowphase.report.drawing import BAND, FAINT, FIT, INK, SLOW, drawing_style, new_figure, to_svg

if TYPE_CHECKING:
    from datetime import date

    from matplotlib.axes import Axes

    from slowphase.course.timeline import Course
    from slowphase.measures.measure import Measure

COLUMNS, ROW_IN, HEAD_IN = 4, 1.75, 0.35
DASHES = ("-", (0, (4, 2)), (0, (1, 1.5)), (0, (5, 1.5, 1, 1.5)))
MARGIN, LEAST_DAYS, LABEL_SHARE = 0.06, 2.0, 0.3
DASH_NAMES = ("full", "dashed", "dotted", "dash-dot")
GAIN_TOP = 1.0
LEAST_SPAN = {"%": 20.0, "deg": 15.0, "deg/s": 4.0, "s": 8.0}  # no noise is blown up


def course_figure(course: Course) -> str | None:
    """The picture as inline SVG; None when no key measure was had twice."""
    shown = panels(course)
    if not shown:
        return None
    rows = ceil(len(shown) / COLUMNS)
    with drawing_style("course"):
        figure = new_figure(10.0, HEAD_IN + ROW_IN * rows)
        axes = figure.subplots(rows, COLUMNS, squeeze=False, sharex=True)
        for panel, place in zip(shown, axes.flat, strict=False):
            _draw(place, panel, course)
        for index, place in enumerate(axes.flat):
            _ends(place, empty=index >= len(shown), last=index + COLUMNS >= len(shown))
        return to_svg(figure, course_label(course, shown))


def _ends(axes: Axes, *, empty: bool, last: bool) -> None:
    if empty:
        axes.set_axis_off()
    elif last:
        axes.xaxis.set_tick_params(labelbottom=True)


def course_label(course: Course, shown: tuple[Panel, ...]) -> str:
    """The picture in words: every value with its interval and day, every event."""
    said = [_line_words(panel, line, course) for panel in shown for line in panel.lines]
    events = "; ".join(f"{event_number(i)} {e.date.isoformat()} {e.label}"
                       for i, e in enumerate(course.events))  # fmt: skip
    return f"Course over time. {' '.join(said)} Events: {events or 'none'}."


def event_number(index: int) -> str:
    """The number of an event in the picture."""
    return str(index + 1)


def _line_words(panel: Panel, line: Line, course: Course) -> str:
    values = [
        f"{day.isoformat()} {with_interval(m.value, m.low, m.high, panel.unit)}"
        for day, m in zip(course.days, line.series.measures, strict=True)
        if m is not None and usable(m)
    ]
    return f"{panel.title}{', ' if line.name else ''}{line.name}: {', '.join(values)}."


def _draw(axes: Axes, panel: Panel, course: Course) -> None:
    axes.set_title(panel.title, fontsize=8)
    _time_axis(axes, course)
    for index, (line, dash) in enumerate(zip(panel.lines, cycle(DASHES), strict=False)):
        _values(axes, line, course, dash, shift=index)
    _limits(axes, panel.lines[0])
    _line_names(axes, panel)
    low, high = _range(panel)
    axes.set_ylim(low, high)
    _healthy(axes, panel)
    _events(axes, course)


def _time_axis(axes: Axes, course: Course) -> None:
    days = [*(e.date.toordinal() for e in course.events), *(d.toordinal() for d in course.days)]
    margin = max(MARGIN * (max(days) - min(days)), LEAST_DAYS)
    axes.set_xlim(min(days) - margin, max(days) + margin)
    named = _named_days(course, 2 * margin + max(days) - min(days))
    axes.set_xticks([day.toordinal() for day in named], [day.isoformat() for day in named])
    axes.tick_params(labelsize=6.5)


def _named_days(course: Course, span_days: float) -> list[date]:
    """The days of sessions that are far enough apart to be written, first and last too."""
    last = course.days[-1]
    named = [course.days[0]]
    for day in course.days[1:-1]:
        if min((day - named[-1]).days, (last - day).days) >= LABEL_SHARE * span_days:
            named.append(day)
    return [*named, last] if (last - named[0]).days >= LABEL_SHARE * span_days else [last]


def _values(axes: Axes, line: Line, course: Course, dash: object, *, shift: int) -> None:
    left, right = axes.get_xlim()
    offset = 0.012 * (right - left) * shift
    seen: list[tuple[float, Measure]] = [
        (day.toordinal() + offset, m)
        for day, m in zip(course.days, line.series.measures, strict=True)
        if m is not None and usable(m)
    ]
    x, y = [day for day, _ in seen], [float(m.value or 0.0) for _, m in seen]
    axes.plot(x, y, color=SLOW, lw=0.8, ls=dash, alpha=0.8)
    axes.plot(x, y, color=SLOW, lw=0, marker="_", ms=8, mew=2.0)
    for day, m in seen:
        if m.low is not None and m.high is not None:
            axes.vlines(day, m.low, m.high, color=SLOW, lw=1.8)
        if m.grade == "caution":
            _write(axes, "caution", (day, float(m.high or m.value or 0.0)), (-10, 3))


def _write(axes: Axes, text: str, at: tuple[float, float], beside_pt: tuple[float, float]) -> None:
    axes.annotate(text, at, xytext=beside_pt, textcoords="offset points", fontsize=6.5, color=INK)


def _line_names(axes: Axes, panel: Panel) -> None:
    """Which line is which, where there are several: by how they are dashed."""
    for index, (line, name) in enumerate(zip(panel.lines, DASH_NAMES, strict=False)):
        if line.name:
            axes.text(0.02, 0.04 + 0.1 * index, f"{name}: {line.name}", transform=axes.transAxes,
                      fontsize=6.5, color=INK)  # fmt: skip


def _limits(axes: Axes, line: Line) -> None:
    """Two thin lines about the first value: what retests of stable people differ by."""
    first = _first(line)
    if first is None or line.retest is None:
        return
    rough = line.retest.illustration
    for way in (-1.0, 1.0):
        axes.axhline(first + way * line.retest.mdc95, color=FIT, lw=0.7 if rough else 1.0,
                     ls=(0, (1, 2.5)) if rough else (0, (6, 2)))  # fmt: skip
    if rough:
        axes.text(0.45, 0.03, "dotted: illustration", transform=axes.transAxes, fontsize=6,
                  color=INK)  # fmt: skip


def _first(line: Line) -> float | None:
    return next((m.value for m in line.series.measures if m is not None and usable(m)), None)


def _healthy(axes: Axes, panel: Panel) -> None:
    """The central 95 % as a band; a limit on one side, or a set that tells little, as lines."""
    placement = panel.healthy
    if placement is None:
        return
    lower, upper = placement.lower, placement.upper
    if lower is not None and upper is not None and not placement.unstated:
        axes.axhspan(lower, upper, color=BAND, lw=0, zorder=0)
        return
    for end in (lower, upper):
        if end is not None:
            axes.axhline(end, color=FAINT, lw=0.9, ls=(0, (2, 1.5)), zorder=0)


def _range(panel: Panel) -> tuple[float, float]:
    """The ends of the axis: values, intervals, limits about the first value."""
    found: list[float] = []
    for line in panel.lines:
        for m in line.series.measures:
            if m is not None and usable(m):
                found += [v for v in (m.value, m.low, m.high) if v is not None]
        first = _first(line)
        if first is not None and line.retest is not None:
            found += [first - line.retest.mdc95, first + line.retest.mdc95]
    low, high = min(found), max(found)
    if panel.unit == "1":
        return min(0.0, low), max(GAIN_TOP, 1.05 * high)
    lacking = max(LEAST_SPAN.get(panel.unit, 1.0) - (high - low), 0.0)
    room = 0.12 * (high - low) + 0.5 * lacking
    return low - room, high + room


def _events(axes: Axes, course: Course) -> None:
    for index, event in enumerate(course.events):
        day = event.date.toordinal()
        axes.axvline(day, color=INK, lw=0.7, ls=(0, (1, 1.5)))
        axes.annotate(event_number(index), (day, 1.0), xycoords=("data", "axes fraction"),
                      xytext=(1.5, -1), textcoords="offset points", fontsize=6.5, va="top",
                      color=INK)  # fmt: skip
