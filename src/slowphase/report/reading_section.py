"""What the page says of patterns and consensus criteria, ready for the template."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, Any

from slowphase.reading.words import chance
from slowphase.reference.sets import marks
from slowphase.report.drawing import at_once, inline
from slowphase.report.labels import word
from slowphase.report.pattern_figure import pattern_figure

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from slowphase.analysis.result import Analysis
    from slowphase.reading.criteria import Criterion, Item
    from slowphase.reading.patterns import Pattern, Weighed
    from slowphase.reading.statement import EvidenceItem
    from slowphase.report.drawing import Drawn

    Listed = Callable[[Sequence[EvidenceItem]], list[dict[str, Any]]]

Context = dict[str, Any]
SHOWN = 3
LISTED = 8
SURE = 0.95


def reading_section(
    analysis: Analysis, anchor: Callable[[str, str], str], *, drawn: Drawn = at_once
) -> Context:
    """Summary, patterns and criteria of one analysis."""
    known = {measure.id for measure in analysis.measures()}
    reading = analysis.patterns

    def evidence(items: Sequence[EvidenceItem]) -> list[Context]:
        return [
            {"item": item, "anchor": anchor("m", item.measure) if item.measure in known else None}
            for item in items
        ]

    return {
        "summary": analysis.summary,
        "told": reading.told,
        "patterns": [_pattern(p, evidence) for p in reading.ranking[:SHOWN]],
        "others": [p.title for p in reading.ranking[SHOWN:]],
        "figure": inline(drawn("patterns", partial(pattern_figure, reading))),
        "criteria": [_criterion(c, evidence) for c in analysis.criteria],
    }


def _pattern(pattern: Pattern, evidence: Listed) -> Context:
    return {
        "pattern": pattern,
        "share": chance(pattern.share),
        "fit": weighed_lines(pattern.fit, evidence) if pattern.code != "normal" else [],
        "unseen": len(pattern.fit) if pattern.code == "normal" else 0,
        "against": weighed_lines(pattern.against, evidence),
    }


def weighed_lines(found: Sequence[Weighed], evidence: Listed) -> list[Context]:
    """Each sign with whether it was seen, what was expected, and its measures."""
    return [
        {
            "text": sign_text(w),
            "expected": w.expected,
            "points": f"{w.points:+.1f}".replace("-", "−"),
            "evidence": evidence(w.sign.evidence[:LISTED]),
            "more": max(len(w.sign.evidence) - LISTED, 0),
        }
        for w in found
    ]


def sign_text(weighed: Weighed) -> str:
    """A sign by name; how likely it is there, unless that is sure."""
    likely = weighed.sign.chance or 0.0
    if likely <= 1.0 - SURE:
        return f"{weighed.sign.title}: not seen"
    told = "" if likely >= SURE else f" (chance {chance(likely)})"
    return f"{weighed.sign.title}{told}"


def _criterion(criterion: Criterion, evidence: Listed) -> Context:
    return {
        "criterion": criterion,
        "verdict": word("met", criterion.verdict),
        "mark": marks()[criterion.mark].text,
        "items": [_item(item, evidence) for item in criterion.items],
    }


def _item(item: Item, evidence: Listed) -> Context:
    return {
        "title": item.title,
        "verdict": word("met", item.verdict),
        "chance": "" if item.chance is None else chance(item.chance),
        "remark": item.remark,
        "evidence": evidence(item.evidence),
    }
