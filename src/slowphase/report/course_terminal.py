"""A course as text that fits 80 columns."""

from __future__ import annotations

from typing import TYPE_CHECKING

from slowphase.course.followed import label
from slowphase.course.wording import cautions, verdict_words, word
from slowphase.reading.cautions import standing_cautions
from slowphase.reading.words import unit_words
from slowphase.report.course_rows import (
    ROUGH,
    limit_text,
    result_text,
    session_rows,
    session_warnings,
    split_changes,
    unmatched_groups,
    unused_rows,
    value_words,
)
from slowphase.report.terminal import HEAD_CAUTIONS, MARKS
from slowphase.report.terminal_parts import heading, plain, table

if TYPE_CHECKING:
    from collections.abc import Iterator

    from rich.console import RenderableType

    from slowphase.course.change import Change
    from slowphase.course.timeline import Course, Judged


LEGEND = (
    "limit: the smallest change of the measure alone that 95 % of stable people do not show",
    "alone: beyond its own limit, but not when all measures are taken together",
    f"{ROUGH} {word('why', 'spread_grows')}",
    "* one of the two values is graded caution",
)


def course_view(course: Course) -> RenderableType:
    """The course for a terminal; print it with a rich console."""
    from rich.console import Group

    parts = [part for judged in course.comparisons for part in _comparison(judged, course)]
    return Group(*_head(course), *parts, *_foot(course))


def _head(course: Course) -> Iterator[RenderableType]:
    days = ", ".join(day.isoformat() for day in course.days)
    yield heading(f"{course.code}: {len(course.days)} sessions")
    yield plain(days)
    for line in session_warnings(course):
        yield plain(f"! {line}", style="bold")
    yield plain(" ".join(standing_cautions()[:HEAD_CAUTIONS]), style="dim")
    for problem in course.problems:
        yield plain(f"! {problem.message}  [{problem.code}]")
    for event in course.events:
        yield plain(f"{event.date.isoformat()}  {event.label} ({event.kind})")
    yield plain("")
    yield table(("session", "pattern"), [list(row) for row in session_rows(course)], left=2)


def _comparison(judged: Judged, course: Course) -> Iterator[RenderableType]:
    one = judged.comparison
    before, after = (course.days[i].isoformat() for i in (one.before, one.after))
    yield heading(f"{after} against {before}: {verdict_words(one.overall, one.changes)}")
    for text in judged.texts:
        yield plain(text)
    for code in one.why:
        yield plain(f"! {word('why', code)}")
    tested, others = split_changes(one)
    if tested:
        yield plain("")
        columns = ("measure", before, after, "limit", "result")
        yield table(columns, [_row(c) for c in tested], left=1)
    if others:
        yield plain(
            f"{len(others)} further measures are in the page and the document.", style="dim"
        )
    yield from _rules(judged)
    for reason, labels in unmatched_groups(one).items():
        yield plain(f"Not compared: {'; '.join(labels)}: {reason}", style="dim")


def _row(one: Change) -> list[str]:
    unit = unit_words(one.key.unit)
    name = label(one.key) + (f" ({unit})" if unit else "")
    before, after = (value_words(one, after=later) for later in (False, True))
    doubt = "*" if "not_sound" in one.why else ""
    return [name, before, after, limit_text(one), result_text(one) + doubt]


def _rules(judged: Judged) -> Iterator[RenderableType]:
    yield plain("")
    yield plain("Rules   ● holds   ○ does not hold   ? cannot tell")
    for one in judged.rules:
        yield plain(f"{MARKS[one.verdict]} {one.rule.title}", indent=2)


def _foot(course: Course) -> Iterator[RenderableType]:
    yield heading("Retest variability")
    yield plain(course.retest.source)
    missed = unused_rows(course)
    if missed:
        yield plain(f"! {word('not_judged', 'retest_unused')}:")
    for name, why in missed:
        yield plain(f"{name}: {why}", indent=2)
    for line in LEGEND:
        yield plain(line, style="dim")
    for line in cautions():
        yield plain(line, style="dim")
