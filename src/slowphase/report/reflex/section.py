"""The session's reflex as a section of the page."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, Any

from slowphase.fit.settings import FitSettings
from slowphase.reading.words import reason_text
from slowphase.report.drawing import at_once, inline
from slowphase.report.reflex.effect_figure import effect_figure
from slowphase.report.reflex.misfit_figure import misfit_figure
from slowphase.report.reflex.trials_figure import trials_figure
from slowphase.report.reflex.words import (
    ABOUT,
    NOT_A_DIAGNOSIS,
    agreement_text,
    beside_text,
    effect_rows,
    effect_table,
    explanation_text,
    explanations_text,
    healthy_texts,
    not_told_text,
    nystagmus_text,
    predicted_rows,
    rows,
    ruled_out,
)

if TYPE_CHECKING:
    from slowphase.analysis.result import Analysis
    from slowphase.fit.result import SessionReflex
    from slowphase.report.drawing import Drawn


def reflex_section(
    analysis: Analysis,
    reflex: SessionReflex | None,
    settings: FitSettings | None = None,
    *,
    drawn: Drawn = at_once,
) -> dict[str, Any] | None:
    """What the page shows of the session's reflex; None where there is none."""
    if reflex is None:
        return None
    results = {trial.id: trial for trial in analysis.trials}
    fit = settings or FitSettings()
    return {
        "about": ABOUT,
        "agreement": agreement_text(reflex),
        "misfit": inline(drawn("reflex-misfit", partial(misfit_figure, reflex.agreement, fit))),
        "why": [reason_text(code) for code in reflex.why],
        "nystagmus": nystagmus_text(reflex),
        "trials": inline(drawn("reflex-trials", partial(trials_figure, analysis, reflex))),
        "predicted": [
            row for view in reflex.views for row in predicted_rows(view, results[view.trial])
        ],
        "rows": list(rows(reflex)),
        "healthy": healthy_texts(reflex),
        "not_told": not_told_text(reflex),
        "effects": inline(drawn("reflex-effects", partial(effect_figure, reflex))),
        "effect_rows": [(text, list(effect_table(own))) for text, own in effect_rows(reflex)],
        "explanations": explanations_text(reflex),
        "as_well": [
            (found.title, explanation_text(found), found.told_apart)
            for found in reflex.explanations
            if found.as_well
        ],
        "others": ruled_out(reflex),
        "beside": beside_text(analysis),
        "caution": NOT_A_DIAGNOSIS,
    }
