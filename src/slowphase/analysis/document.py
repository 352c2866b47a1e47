"""The result document: everything an analysis found, as plain data for JSON.

Numbers are rounded to 6 significant digits; there is no NaN and no infinity (null instead).
``document.schema.json`` beside this file is its JSON Schema.
"""

from __future__ import annotations

import itertools
import json
import math
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING, Any

import numpy as np

from slowphase.analysis.agreement_entry import agreement_entry
from slowphase.analysis.reading_document import (
    NO_PATTERNS,
    NO_SUMMARY,
    criterion_entry,
    evidence_entry,
    patterns_entry,
    summary_entry,
)
from slowphase.eye.trace import UNUSED_REASONS, USED, EyeTrace, QuickPhases
from slowphase.reading.cautions import session_cautions, standing_cautions
from slowphase.reading.parting_ways import parting_ways

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from slowphase.analysis.result import Analysis, Provenance
    from slowphase.edits.edit import Edit
    from slowphase.foundation.problem import Problem
    from slowphase.measures.measure import Measure
    from slowphase.measures.result import GroupResult, PairResult, Quality, TrialResult
    from slowphase.reading.coherence import Incoherence
    from slowphase.reading.function import FunctionPoint
    from slowphase.reading.statement import Statement
    from slowphase.recording.session import Patient
    from slowphase.reference.placement import Placement, RunnerUp

SCHEMA = 1
DIGITS = 6
QUALITY = (
    "noise_deg",
    "smallest_quick_phase_deg",
    "quick_phases_per_s",
    "quick_phase_speed",
    "quick_phase_speed_error",
    "eye_gain_difference",
    "eye_step_deg",
    "roving_deg_s",
    "strength_change",
)
Json = dict[str, Any]


def to_document(analysis: Analysis) -> Json:
    """The document of one analysis."""
    placements = analysis.placements
    return {
        "schema": SCHEMA,
        "software": software_entry(analysis.provenance),
        "session": {
            "patient": _patient(analysis.patient),
            "date": analysis.date.isoformat() if analysis.date else None,
            "conditions": {key: rounded(value) for key, value in analysis.conditions.items()},
        },
        "problems": [problem_entry(problem) for problem in analysis.problems],
        "trials": [_trial(trial, placements) for trial in analysis.trials],
        "pairs": [_pair(pair, placements) for pair in analysis.pairs],
        "statements": [_statement(statement) for statement in analysis.statements],
        "summary": summary_entry(analysis.summary),
        "patterns": patterns_entry(analysis.patterns, rounded),
        "criteria": [criterion_entry(found, rounded) for found in analysis.criteria],
        "unplaced": [
            {"measure": id_, "sets": [_runner_up(other) for other in others]}
            for id_, others in analysis.unplaced.items()
        ],
        "groups": [_group(group, placements) for group in analysis.groups],
        "function": {
            "points": [_point(point) for point in analysis.function],
            "parts_ways": list(parting_ways(analysis.function, analysis.groups)),
        },
        "incoherences": [_incoherence(found) for found in analysis.incoherences],
        "agreements": rounded([agreement_entry(found) for found in analysis.agreements]),
        "edits": [_edit(edit, analysis.edits.active) for edit in analysis.edits.log],
        "cautions": [*standing_cautions(), *session_cautions(analysis.told)],
    }


def failure_document(problems: Sequence[Problem], version: str) -> Json:
    """The document of input that could not be used at all: its problems, and nothing else."""
    digests = ("settings_digest", "input_digest", "edits_digest", "reference_digest")
    return {
        "schema": SCHEMA,
        "software": {"name": "slowphase", "version": version, **dict.fromkeys(digests)},
        "session": None,
        "problems": [problem_entry(problem) for problem in problems],
        "trials": [],
        "pairs": [],
        "statements": [],
        "summary": NO_SUMMARY,
        "patterns": NO_PATTERNS,
        "criteria": [],
        "unplaced": [],
        "groups": [],
        "function": {"points": [], "parts_ways": []},
        "incoherences": [],
        "agreements": [],
        "edits": [],
        "cautions": list(standing_cautions()),
    }


def events_document(analysis: Analysis) -> Json:
    """The side file: quick phases and unused intervals of each recorded trial and plane."""
    from slowphase.analysis.impulse_events import impulse_events

    return {
        "schema": SCHEMA,
        "software": software_entry(analysis.provenance),
        "trials": [
            {"id": trial.id, "planes": list(_planes(trial)), **rounded(impulse_events(trial))}
            for trial in analysis.trials
            if trial.evidence is not None
        ],
    }


def to_json(document: Json) -> str:
    """A document as text: UTF-8, keys in the document's order, one final newline."""
    return json.dumps(document, ensure_ascii=False, allow_nan=False, indent=1) + "\n"


@cache
def document_schema() -> Json:
    """The JSON Schema (draft 2020-12) of the result document."""
    text = (files(__package__) / "document.schema.json").read_text(encoding="utf-8")
    schema: Json = json.loads(text)
    return schema


def rounded(value: Any) -> Any:
    """A number with 6 significant digits, null where it is not finite; the rest as text."""
    if value is None or isinstance(value, str | bool):
        return value
    if isinstance(value, int | np.integer):
        return int(value)
    if isinstance(value, float | np.floating):
        return float(f"{value:.{DIGITS}g}") if math.isfinite(value) else None
    if isinstance(value, list | tuple):
        return [rounded(part) for part in value]
    if isinstance(value, dict):
        return {str(key): rounded(part) for key, part in value.items()}
    return str(value)


def software_entry(provenance: Provenance) -> Json:
    """What made the numbers."""
    return {
        "name": "slowphase",
        "version": provenance.version,
        "settings_digest": provenance.settings_digest,
        "input_digest": provenance.input_digest,
        "edits_digest": provenance.edits_digest,
        "reference_digest": provenance.reference_digest,
    }


def _patient(patient: Patient) -> Json:
    return {"code": patient.code, "age_years": rounded(patient.age_years), "sex": patient.sex}


def problem_entry(problem: Problem) -> Json:
    """One thing that is wrong with the input."""
    return {
        "code": problem.code,
        "trial": problem.trial,
        "file": problem.file,
        "line": problem.line,
        "key": problem.key,
        "found": problem.found,
        "expected": problem.expected,
        "message": problem.message,
    }


def _trial(trial: TrialResult, placements: Mapping[str, Placement]) -> Json:
    return {
        "id": trial.id,
        "kind": trial.kind,
        "vision": trial.vision,
        "stimulus": {key: rounded(value) for key, value in trial.stimulus.items()},
        "outcome": trial.outcome,
        "reason": trial.reason,
        "parts": list(trial.parts),
        "quality": _quality(trial.quality),
        "measures": [measure_entry(m, placements.get(m.id)) for m in trial.measures],
    }


def _pair(pair: PairResult, placements: Mapping[str, Placement]) -> Json:
    return {
        "kind": pair.kind,
        "dark": pair.dark,
        "fixation": pair.fixation,
        "conditions": {key: rounded(value) for key, value in pair.conditions.items()},
        "measures": [measure_entry(m, placements.get(m.id)) for m in pair.measures],
    }


def _group(group: GroupResult, placements: Mapping[str, Placement]) -> Json:
    return {
        "id": group.id,
        "kind": group.kind,
        "trials": list(group.trials),
        "measures": [measure_entry(m, placements.get(m.id)) for m in group.measures],
    }


def _point(point: FunctionPoint) -> Json:
    return {
        "test": point.test,
        "frequency_hz": rounded(point.frequency_hz),
        "side": point.side,
        "exciting": point.exciting,
        "measure": point.measure,
        "share": rounded(point.share),
        "low": rounded(point.low),
        "high": rounded(point.high),
        "grade": point.grade,
        "lowest_healthy": {
            "value": rounded(point.healthy.lowest),
            "unit": point.unit,
            "source": point.healthy.source,
            "mark": point.healthy.mark,
        },
        "healthy_share": _healthy_share(point),
    }


def _healthy_share(point: FunctionPoint) -> Json | None:
    """Middle and highest healthy value on the axis of shares, where they are known."""
    known = point.healthy_share
    return known and {"middle": rounded(known[0]), "highest": rounded(known[1])}


def _edit(edit: Edit, active: Sequence[Edit]) -> Json:
    return {
        "id": edit.id,
        "kind": edit.kind,
        "trial": edit.trial,
        "values": rounded(dict(edit.values)),
        "by": edit.by,
        "at": edit.at,
        "reason": edit.reason,
        "holds": edit in active,
    }


def _quality(quality: Quality | None) -> Json | None:
    if quality is None:
        return None
    return {
        "usable_pct": rounded(float(quality.usable_pct)),
        **{name: rounded(getattr(quality, name)) for name in QUALITY},
        "grade": quality.grade,
        "why": list(quality.why),
    }


def _incoherence(found: Incoherence) -> Json:
    return {
        "code": found.code,
        "value": rounded(found.value),
        "low": rounded(found.low),
        "high": rounded(found.high),
        "unit": found.unit,
        "limit": rounded(found.limit),
        "trials": list(found.trials),
    }


def measure_entry(measure: Measure, placement: Placement | None) -> Json:
    """One measure and where it stands in a reference set."""
    return {
        "id": measure.id,
        "name": measure.name,
        "of": measure.of,
        "exciting": measure.exciting,
        "value": rounded(measure.value),
        "low": rounded(measure.low),
        "high": rounded(measure.high),
        "unit": measure.unit,
        "definition": measure.definition,
        "grade": measure.grade,
        "why": list(measure.why),
        "placement": None if placement is None else _placement(placement),
    }


def _placement(placement: Placement) -> Json:
    return {
        "set": placement.set,
        "percentile": rounded(placement.percentile),
        "lower": rounded(placement.lower),
        "upper": rounded(placement.upper),
        "beyond_limit": rounded(placement.beyond_limit),
        "mark": placement.mark,
        "source": placement.source,
        "note": placement.note,
        "n": placement.n,
        "unstated": list(placement.unstated),
        "z": rounded(placement.z),
        "below": rounded(placement.below),
        "above": rounded(placement.above),
        "between": rounded(placement.between),
        "quartiles": rounded(placement.quartiles),
        "why": list(placement.why),
        "runners_up": [_runner_up(other) for other in placement.runners_up],
    }


def _runner_up(other: RunnerUp) -> Json:
    return {"set": other.set, "mark": other.mark, "lacks": list(other.lacks)}


def _statement(statement: Statement) -> Json:
    return {
        "code": statement.code,
        "title": statement.title,
        "verdict": statement.verdict,
        "text": statement.text,
        "strength": statement.strength,
        "evidence": [evidence_entry(item) for item in statement.evidence],
        "urgent": statement.urgent,
        "shown": statement.shown,
        "cautions": list(statement.cautions),
        "does_not_show": list(statement.does_not_show),
        "version": statement.version,
        "sources": list(statement.sources),
    }


def _planes(trial: TrialResult) -> Iterator[Json]:
    if trial.evidence is None:
        return
    planes = {"horizontal": trial.evidence.horizontal, "vertical": trial.evidence.vertical}
    for plane, trace in planes.items():
        if trace is not None:
            yield {
                "of": plane,
                "quick_phases": list(_quick_phases(trace.quick_phases)),
                "unused": list(_unused(trace)),
            }


def _quick_phases(events: QuickPhases) -> Iterator[Json]:
    names = ("onset_s", "offset_s", "amplitude_deg", "peak_velocity_deg_s")
    columns = [getattr(events, name).tolist() for name in names]
    for row in zip(*columns, strict=True):
        yield {name: rounded(value) for name, value in zip(names, row, strict=True)}


def _unused(trace: EyeTrace) -> Iterator[Json]:
    for start, stop, reason in unused_runs(trace):
        yield {
            "start_s": rounded(float(trace.time_s[start])),
            "stop_s": rounded(float(trace.time_s[min(stop, trace.time_s.size - 1)])),
            "reason": reason,
        }


def unused_runs(trace: EyeTrace) -> Iterator[tuple[int, int, str]]:
    """Runs of samples not used for one reason: start, stop (exclusive) and the reason."""
    if trace.use.size == 0:
        return
    edges = np.flatnonzero(np.diff(trace.use)) + 1
    bounds = [0, *edges.tolist(), trace.use.size]
    for start, stop in itertools.pairwise(bounds):
        code = int(trace.use[start])
        if code != USED:
            yield start, stop, UNUSED_REASONS[code]
