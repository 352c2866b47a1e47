"""Comparisons of tests as plain data for the result document, before its rounding."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from slowphase.analysis.reading_document import evidence_entry

if TYPE_CHECKING:
    from slowphase.reading.agreement import Comparison
    from slowphase.reading.agreement.comparison import Panel


def agreement_entry(found: Comparison) -> dict[str, Any]:
    """One comparison with its evidence and the numbers of its picture."""
    return {
        "code": found.code,
        "title": found.title,
        "verdict": found.verdict,
        "outcome": found.outcome,
        "text": found.text,
        "heed": found.heed,
        "evidence": [evidence_entry(item) for item in found.evidence],
        "does_not_show": found.does_not_show,
        "sources": found.sources,
        "panels": [_panel(panel) for panel in found.panels],
    }


def _panel(panel: Panel) -> dict[str, Any]:
    names = ("label", "value", "low", "high", "expected")
    rows = [{name: getattr(row, name) for name in names} for row in panel.rows]
    return {"title": panel.title, "unit": panel.unit, "ends": panel.ends, "rows": rows}
