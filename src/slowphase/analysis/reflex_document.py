"""The document of one explanation of a session, as plain data for JSON.

``reflex.schema.json`` beside this file is its JSON Schema.
"""

from __future__ import annotations

import json
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING

from slowphase.analysis.document import SCHEMA, Json, measure_entry, rounded, software_entry
from slowphase.reading.cautions import session_cautions, standing_cautions

if TYPE_CHECKING:
    from slowphase.analysis.result import Analysis
    from slowphase.fit.agreement import Agreement
    from slowphase.fit.effects import Effect
    from slowphase.fit.explanations import Explanation
    from slowphase.fit.healthy import Moved
    from slowphase.fit.predict import TrialView
    from slowphase.fit.result import SessionReflex
    from slowphase.measures.result import TrialResult


def reflex_document(analysis: Analysis, reflex: SessionReflex | None) -> Json:
    """The document of one explanation; ``reflex`` is null where nothing moves in the dark."""
    return {
        "schema": SCHEMA,
        "software": software_entry(analysis.provenance),
        "session": {
            "patient": {"code": analysis.patient.code},
            "date": analysis.date.isoformat() if analysis.date else None,
        },
        "reflex": None if reflex is None else _reflex(analysis, reflex),
        "cautions": [*standing_cautions(), *session_cautions(analysis.told)],
    }


@cache
def reflex_schema() -> Json:
    """The JSON Schema (draft 2020-12) of the document."""
    text = (files(__package__) / "reflex.schema.json").read_text(encoding="utf-8")
    schema: Json = json.loads(text)
    return schema


def _reflex(analysis: Analysis, reflex: SessionReflex) -> Json:
    results = {trial.id: trial for trial in analysis.trials}
    return {
        "grade": reflex.grade,
        "why": list(reflex.why),
        "measures": [measure_entry(measure, None) for measure in reflex.measures],
        "not_told": list(reflex.not_told),
        "agreement": _agreement(reflex.agreement),
        "moved": [_moved(moved) for moved in reflex.moved],
        "explanations": [_explanation(found) for found in reflex.explanations],
        "trials": [_view(view, results[view.trial]) for view in reflex.views],
        "effects": [_effect(effect) for effect in reflex.effects],
    }


def _agreement(agreement: Agreement) -> Json:
    return {
        "statistic": rounded(agreement.statistic),
        "degrees": agreement.degrees,
        "p": rounded(agreement.p),
        "deviations": [
            {
                "trial": found.trial,
                "of": found.of,
                "exciting": found.exciting,
                "value": rounded(found.value),
                "error": rounded(found.error),
                "standardised": rounded(found.standardised),
                "unit": "deg" if found.of == "phase" else "%",
            }
            for found in agreement.deviations
        ],
    }


def _moved(moved: Moved) -> Json:
    parameter = moved.parameter
    return {
        "parameter": parameter.name,
        "value": rounded(moved.value),
        "low": rounded(moved.low),
        "high": rounded(moved.high),
        "where": moved.where,
        "healthy": rounded(parameter.value),
        "healthy_low": rounded(parameter.low),
        "healthy_high": rounded(parameter.high),
        "unit": parameter.unit,
        "source": parameter.source,
        "mark": parameter.mark,
    }


def _explanation(found: Explanation) -> Json:
    return {
        "code": found.code,
        "title": found.title,
        "text": found.text,
        "told_apart": found.told_apart,
        "values": [
            {"name": name, "value": rounded(value), "low": rounded(low), "high": rounded(high)}
            for name, value, low, high in found.values
        ],
        "statistic": rounded(found.statistic),
        "degrees": found.degrees,
        "p": rounded(found.p),
        "fits": found.fits,
        "as_well": found.as_well,
    }


def _view(view: TrialView, result: TrialResult) -> Json:
    measured = {(measure.of, measure.name): measure for measure in result.measures}
    predicted = []
    for (of, name), estimate in view.predicted.items():
        own = measured.get((of, name))
        predicted.append(
            {
                "of": of,
                "name": name,
                "predicted": rounded(estimate.value),
                "low": rounded(estimate.low),
                "high": rounded(estimate.high),
                "measured": rounded(own.value) if own else None,
                "unit": own.unit if own else None,
            }
        )
    without = [
        {
            "of": of,
            "name": name,
            "with_nystagmus": rounded(with_it.value),
            "without_nystagmus": rounded(without_it.value),
        }
        for (of, name), (with_it, without_it) in view.without.items()
    ]
    return {"id": view.trial, "predicted": predicted, "without_nystagmus": without}


def _effect(effect: Effect) -> Json:
    return {
        "parameter": effect.parameter,
        "trial": effect.trial,
        "of": effect.of,
        "name": effect.name,
        "value": rounded(effect.value),
        "healthy_parameter": rounded(effect.without),
        "change": rounded(effect.change),
    }
