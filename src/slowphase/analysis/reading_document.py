"""The reading in the result document: patterns, criteria and summary as plain data."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Callable

    from slowphase.reading.criteria import Criterion, Item
    from slowphase.reading.pattern_table import Weighed
    from slowphase.reading.patterns import Pattern, PatternReading
    from slowphase.reading.signs import Sign
    from slowphase.reading.statement import EvidenceItem
    from slowphase.reading.summary import Summary

Json = dict[str, Any]
NO_PATTERNS: Json = {"told": False, "ranking": [], "signs": []}
NO_SUMMARY: Json = {"referrer": "", "patient": ""}


def summary_entry(summary: Summary) -> Json:
    """The texts for the referrer and for the patient."""
    return {"referrer": summary.referrer, "patient": summary.patient}


def patterns_entry(reading: PatternReading, rounded: Callable[[Any], Any]) -> Json:
    """The patterns, the likeliest first, each with the signs that speak for and against it."""
    return {
        "told": reading.told,
        "ranking": [_pattern(p, rounded) for p in reading.ranking],
        "signs": [_sign(sign, rounded) for sign in reading.signs if sign.chance is not None],
    }


def _sign(sign: Sign, rounded: Callable[[Any], Any]) -> Json:
    return {
        "sign": sign.code,
        "title": sign.title,
        "test": sign.test,
        "chance": rounded(sign.chance),
        "shown": sign.shown,
        "evidence": [evidence_entry(item) for item in sign.evidence],
    }


def _pattern(pattern: Pattern, rounded: Callable[[Any], Any]) -> Json:
    return {
        "code": pattern.code,
        "side": pattern.side,
        "variant": pattern.variant,
        "title": pattern.title,
        "text": pattern.text,
        "strength": pattern.strength,
        "share": rounded(pattern.share),
        "points": rounded(pattern.points),
        "for": [_weighed(w, rounded) for w in pattern.fit],
        "against": [_weighed(w, rounded) for w in pattern.against],
        "points_of_signs": {w.sign.code: rounded(w.points) for w in pattern.weighed},
        "open": list(pattern.open),
        "told_apart": pattern.told_apart,
        "does_not_show": list(pattern.does_not_show),
        "cautions": list(pattern.cautions),
    }


def _weighed(weighed: Weighed, rounded: Callable[[Any], Any]) -> Json:
    return {
        "sign": weighed.sign.code,
        "title": weighed.sign.title,
        "chance": rounded(weighed.sign.chance),
        "expected": weighed.expected,
        "points": rounded(weighed.points),
        "evidence": [evidence_entry(item) for item in weighed.sign.evidence],
    }


def criterion_entry(criterion: Criterion, rounded: Callable[[Any], Any]) -> Json:
    """One set of consensus criteria, item by item."""
    return {
        "code": criterion.code,
        "title": criterion.title,
        "verdict": criterion.verdict,
        "items": [_item(item, rounded) for item in criterion.items],
        "history": criterion.history,
        "trap": criterion.trap,
        "remark": criterion.remark,
        "source": criterion.source,
        "mark": criterion.mark,
    }


def _item(item: Item, rounded: Callable[[Any], Any]) -> Json:
    return {
        "code": item.code,
        "title": item.title,
        "verdict": item.verdict,
        "chance": rounded(item.chance),
        "evidence": [evidence_entry(part) for part in item.evidence],
        "remark": item.remark,
    }


def evidence_entry(item: EvidenceItem) -> Json:
    """A measure with the limit that it was held against."""
    return {
        "measure": item.measure,
        "shown": item.shown,
        "limit": item.limit,
        "source": item.source,
        "mark": item.mark,
    }
