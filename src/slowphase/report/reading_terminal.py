"""Summary, patterns and criteria on a terminal."""

from __future__ import annotations

from typing import TYPE_CHECKING

from slowphase.reading.words import chance
from slowphase.report.labels import word
from slowphase.report.reading_section import sign_text
from slowphase.report.terminal_parts import heading, plain

if TYPE_CHECKING:
    from collections.abc import Iterator

    from rich.console import RenderableType

    from slowphase.analysis.result import Analysis
    from slowphase.reading.criteria import Criterion
    from slowphase.reading.patterns import Pattern, PatternReading

SHOWN = 3
VERDICTS = {"met": "●", "not_met": "○", "not_tested": "–"}


def summary_lines(analysis: Analysis) -> Iterator[RenderableType]:
    """The reading in few words."""
    if analysis.summary.referrer:
        yield heading("In short")
        yield plain(analysis.summary.referrer)


def pattern_lines(reading: PatternReading) -> Iterator[RenderableType]:
    """The nearest patterns with what speaks for and against them."""
    if not reading.ranking:
        return
    told = "" if reading.told else ": none can be named, the nearest are"
    yield heading(f"Pattern{told}")
    for place, pattern in enumerate(reading.ranking[:SHOWN]):
        first = place == 0
        yield plain(_title(pattern), style="bold" if first and reading.told else "")
        if first:
            yield plain(pattern.text, indent=2)
        yield from _signs(pattern, full=first)
    yield plain("Weights compare these patterns with one another: no probability.", style="dim")


def _title(pattern: Pattern) -> str:
    if pattern.code == "not_interpretable":
        return f"{pattern.title} ({pattern.strength})"
    return f"{pattern.title} ({pattern.strength}; weight {chance(pattern.share)})"


def _signs(pattern: Pattern, *, full: bool) -> Iterator[RenderableType]:
    if pattern.code == "normal":
        yield plain(f"looked for and not seen: {len(pattern.fit)} signs", indent=2)
    else:
        yield from _listed("for", [sign_text(w) for w in pattern.fit])
    yield from _listed("against", [sign_text(w) for w in pattern.against])
    if full:
        yield from _listed("not tested", list(pattern.open))
        for text in pattern.cautions:
            yield plain(f"Caution: {text}", indent=2, style="dim")


def _listed(way: str, titles: list[str]) -> Iterator[RenderableType]:
    if titles:
        yield plain(f"{way}: {'; '.join(titles)}", indent=2)


def criteria_lines(criteria: tuple[Criterion, ...]) -> Iterator[RenderableType]:
    """Consensus criteria of which something was tested, item by item."""
    tested = [c for c in criteria if any(item.verdict != "not_tested" for item in c.items)]
    if not tested:
        return
    yield heading("Consensus criteria, measured part   ● met   ○ not met   – not tested")
    for criterion in tested:
        yield plain(f"{criterion.title}: {word('met', criterion.verdict)}")
        if criterion.remark:
            yield plain(criterion.remark, indent=2)
        for item in criterion.items:
            remark = f" ({item.remark})" if item.remark else ""
            yield plain(f"{VERDICTS[item.verdict]} {item.title}{remark}", indent=2)
