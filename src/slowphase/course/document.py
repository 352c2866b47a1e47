"""The document of a course, as plain data for JSON; numbers as in the result document.

``course.schema.json`` beside this file is its JSON Schema.
"""

from __future__ import annotations

import json
import math
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING

from slowphase.analysis.document import SCHEMA, Json, problem_entry, rounded, software_entry
from slowphase.course.followed import is_tested, label
from slowphase.course.wording import cautions, unused_words, warning_words
from slowphase.reading.cautions import standing_cautions

if TYPE_CHECKING:
    from slowphase.analysis.result import Analysis
    from slowphase.course.change import Change
    from slowphase.course.key import Key
    from slowphase.course.retest import Retest
    from slowphase.course.rules.judge import RuleVerdict
    from slowphase.course.series import Series, Unmatched
    from slowphase.course.session_state import SessionState
    from slowphase.course.timeline import Course, Judged
    from slowphase.measures.measure import Measure


def course_document(course: Course) -> Json:
    """The document of one course."""
    return {
        "schema": SCHEMA,
        "patient": {"code": course.code},
        "sessions": [_session(*one) for one in zip(course.analyses, course.states, strict=True)],
        "events": [
            {"date": e.date.isoformat(), "label": e.label, "kind": e.kind} for e in course.events
        ],
        "problems": [problem_entry(problem) for problem in course.problems],
        "retest": _retest_set(course),
        "series": [_series(series) for series in course.series],
        "comparisons": [_comparison(judged, course) for judged in course.comparisons],
        "cautions": [*standing_cautions(), *cautions()],
    }


@cache
def course_schema() -> Json:
    """The JSON Schema (draft 2020-12) of the document."""
    text = (files(__package__) / "course.schema.json").read_text(encoding="utf-8")
    schema: Json = json.loads(text)
    return schema


def _session(analysis: Analysis, state: SessionState) -> Json:
    return {
        "date": analysis.date.isoformat() if analysis.date else None,
        "patient": {"code": analysis.patient.code},
        "software": software_entry(analysis.provenance),
        "conditions": {key: rounded(value) for key, value in analysis.conditions.items()},
        "problems": [problem_entry(problem) for problem in analysis.problems],
        "pattern": _pattern(state),
        "warnings": [
            {"code": code, "text": text, "trials": list(ids)}
            for code, text, ids in zip(
                state.warnings, warning_words(state), state.trials, strict=True
            )
        ],
    }


def _pattern(state: SessionState) -> Json | None:
    found = state.pattern
    if found is None:
        return None
    names = ("code", "side", "variant", "title", "strength")
    return {"told": state.told, **{name: getattr(found, name) for name in names}}


def _retest_set(course: Course) -> Json:
    retest = course.retest
    return {
        "source": retest.source,
        "n_pairs": retest.n_pairs,
        "days_apart": rounded(retest.days_apart),
        "settings_digest": retest.settings_digest or None,
        "version": retest.version or None,
        "unused": [
            {"label": label(entry.key), "key": _key(entry.key), "why": unused_words(differing)}
            for entry, differing in course.unused_retests
        ],
    }


def _series(series: Series) -> Json:
    return {
        "label": label(series.key),
        "key": _key(series.key),
        "tested": is_tested(series.key),
        "trial": series.trial,
        "values": [None if m is None else _value(m) for m in series.measures],
    }


def _key(key: Key) -> Json:
    names = ("level", "kind", "name", "of", "exciting", "definition", "vision", "unit")
    stimulus = {name: rounded(value) for name, value in key.stimulus}
    return {**{name: getattr(key, name) for name in names}, "stimulus": stimulus}


def _value(measure: Measure) -> Json:
    return {
        "measure": measure.id,
        "value": rounded(measure.value),
        "low": rounded(measure.low),
        "high": rounded(measure.high),
        "grade": measure.grade,
        "why": list(measure.why),
    }


def _comparison(judged: Judged, course: Course) -> Json:
    one = judged.comparison
    return {
        "before": course.days[one.before].isoformat(),
        "after": course.days[one.after].isoformat(),
        "before_session": one.before + 1,
        "after_session": one.after + 1,
        "verdict": one.overall.verdict,
        "text": judged.text,
        "beyond_intervals": [label(change.key) for change in judged.beyond],
        "beyond_intervals_text": judged.beyond_text,
        "tested": one.overall.tested,
        "method": one.overall.method,
        "first_level": rounded(one.overall.first_level),
        "why": [*one.why, *(code for code in one.overall.why if code not in one.why)],
        "differing": list(one.differing),
        "changes": [_change(change) for change in one.changes],
        "unmatched": [_unmatched(unmatched) for unmatched in one.unmatched],
        "rules": [_rule(verdict) for verdict in judged.rules],
    }


def _change(one: Change) -> Json:
    numbers = ("value", "low", "high", "effect", "error", "index", "p", "p_adjusted", "limit",
               "smallest")  # fmt: skip
    finite = one.degrees is not None and math.isfinite(one.degrees)
    return {
        "label": label(one.key),
        "key": _key(one.key),
        "before": _value(one.before),
        "after": _value(one.after),
        **{name: rounded(getattr(one, name)) for name in numbers},
        "degrees": rounded(one.degrees) if finite else None,
        "direction": one.direction,
        "retest": None if one.retest is None else _retest(one.retest),
        "why": list(one.why),
    }


def _retest(entry: Retest) -> Json:
    triples = ("icc", "bias_slope", "spread_slope")
    return {
        "source": entry.source,
        "mark": entry.mark,
        "illustration": entry.illustration,
        "n": entry.n,
        "sem": rounded(entry.sem),
        "mdc95": rounded(entry.mdc95),
        "measurement_error": rounded(entry.measurement_error),
        **{name: rounded(getattr(entry, name)) for name in triples},
    }


def _unmatched(one: Unmatched) -> Json:
    return {
        "label": label(one.key),
        "key": _key(one.key),
        "reason": one.reason,
        "detail": one.detail,
    }


def _rule(one: RuleVerdict) -> Json:
    rule = one.rule
    return {
        "code": rule.code,
        "set": rule.set,
        "title": rule.title,
        "condition": rule.condition,
        "verdict": one.verdict,
        "text": one.text,
        "evidence": list(one.evidence),
        "does_not_show": rule.does_not_show,
        "source": rule.source,
        "mark": rule.mark,
    }
