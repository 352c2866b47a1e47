"""The page of a built set: every measure with its picture, limits, tests and what was left out."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING, Any

from slowphase.reading.cautions import standing_cautions
from slowphase.reading.words import number, quantity
from slowphase.reference.intervals.set_text import interval_words, key_text, partition_text
from slowphase.report.drawing import inline
from slowphase.report.intervals.figure import limits_figure
from slowphase.report.page_style import style_sheet

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from slowphase.reference.intervals.build import BuiltSet, MeasureLimits
    from slowphase.reference.intervals.interval import GroupLimits

Context = dict[str, Any]


def render_intervals(
    built: BuiltSet, name: str, version: str, *, progress: Callable[[str], None] | None = None
) -> str:
    """The page as HTML; the same set gives the same bytes."""
    from jinja2 import Environment, PackageLoader, StrictUndefined
    from markupsafe import Markup

    environment = Environment(
        loader=PackageLoader("slowphase.report"), autoescape=True, undefined=StrictUndefined,
        trim_blocks=True, lstrip_blocks=True,
    )  # fmt: skip
    measures = []
    for limits in built.measures:
        if progress is not None:
            progress(limits.key.measure)
        measures.append(_measure(limits))
    return environment.get_template("intervals.html").render(
        name=name, version=version, css=Markup(style_sheet()), standing=standing_cautions(),
        people=len(built.collected.sessions), measures=measures, apart=_apart(built),
        words=interval_words(), left_out=built.options.without_outliers,
    )  # fmt: skip


def _measure(limits: MeasureLimits) -> Context:
    return {
        "title": key_text(limits.key),
        "figure": inline(limits_figure(limits)),
        "rows": [row for group in limits.groups for row in _rows(group, limits.key.unit)],
        "methods": _methods(limits),
        "values": [_listed(group, limits.key.unit) for group in limits.groups
                   if not (group.percentiles or group.curve)],
        "flagged": [f"{v.person}: {quantity(v.value, limits.key.unit)}"
                    for group in limits.groups for v in (*group.flagged, *group.left_out)],
        "tests": [partition_text(test) for test in limits.partitions],
        "cautioned": sum(v.grade != "sound" for group in limits.groups for v in group.values),
    }  # fmt: skip


def _rows(group: GroupLimits, unit: str) -> list[tuple[str, ...]]:
    who = ", ".join(part for part in (group.sex, _ages(group)) if part) or "all"
    told = (str(len(group.values)),)
    if group.percentiles:
        levels = [level for _, level in group.percentiles]
        middle = dict(group.percentiles)[50.0]
        ends = _ends(group.limit_intervals, unit)
        return [(who, *_limits((levels[0], middle, levels[-1]), ends, unit), *told)]
    rows = []
    for point, spread in zip(group.curve, group.curve_intervals, strict=True):
        levels = [level for _, level in point.percentiles]
        at = f"{group.sex + ', ' if group.sex else ''}{point.age_years:g} years"
        trio = (levels[0], levels[len(levels) // 2], levels[-1])
        rows.append((at, *_limits(trio, _ends(spread, unit), unit), *told))
    return rows


def _limits(
    levels: tuple[float, float, float], ends: tuple[str, str], unit: str
) -> tuple[str, ...]:
    low, middle, high = (number(level, unit) for level in levels)
    return low, ends[0], middle, high, ends[1]


def _ends(spread: Mapping[str, tuple[float, float]], unit: str) -> tuple[str, str]:
    low, high = (
        f"{number(spread[end][0], unit)} to {number(spread[end][1], unit)}"
        for end in ("lower", "upper")
    )
    return low, high


def _methods(limits: MeasureLimits) -> list[str]:
    """How the limits of the groups were made; values that are listed say so themselves."""
    made = (group.method for group in limits.groups if group.percentiles or group.curve)
    words = interval_words()["method"]
    return [words[method][:1].upper() + words[method][1:] for method in dict.fromkeys(made)]


def _listed(group: GroupLimits, unit: str) -> str:
    values = ", ".join(number(v.value, unit) for v in sorted(group.values, key=lambda v: v.value))
    told = interval_words()["method"][group.method]
    return f"{told[:1].upper()}{told[1:]}: {values}."


def _ages(group: GroupLimits) -> str:
    return f"{group.ages[0]:g}–{group.ages[1]:g} years" if group.ages else ""


def _apart(built: BuiltSet) -> list[tuple[str, int, str]]:
    """What was kept apart, by reason, with its number and the first persons."""
    apart = [*built.collected.apart, *(a for limits in built.measures for a in limits.apart)]
    words = interval_words()["apart"]
    counts = Counter(a.why for a in apart)
    people = {why: dict.fromkeys(a.person for a in apart if a.why == why) for why in counts}
    return [(words[why], count, ", ".join(people[why])) for why, count in counts.items()]
