"""The session's reflex as a section of the page."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from slowphase.reading.words import reason_text
from slowphase.report.reflex_words import (
    ABOUT,
    NOT_A_DIAGNOSIS,
    agreement_text,
    explanation_text,
    explanations_text,
    healthy_texts,
    not_told_text,
    nystagmus_text,
    rows,
    ruled_out,
)

if TYPE_CHECKING:
    from slowphase.fit.result import SessionReflex


def reflex_section(reflex: SessionReflex | None) -> dict[str, Any] | None:
    """What the page shows of the session's reflex; None where there is none."""
    if reflex is None:
        return None
    return {
        "about": ABOUT,
        "agreement": agreement_text(reflex),
        "why": [reason_text(code) for code in reflex.why],
        "nystagmus": nystagmus_text(reflex),
        "rows": list(rows(reflex)),
        "healthy": healthy_texts(reflex),
        "not_told": not_told_text(reflex),
        "explanations": explanations_text(reflex),
        "as_well": [
            (found.title, explanation_text(found), found.told_apart)
            for found in reflex.explanations
            if found.as_well
        ],
        "others": ruled_out(reflex),
        "caution": NOT_A_DIAGNOSIS,
    }
