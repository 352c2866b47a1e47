"""One analysis as one self-contained page: no script, no other file, no network."""

from __future__ import annotations

import re
from functools import cache, partial
from typing import TYPE_CHECKING, Any

from slowphase.analysis.explain import explain
from slowphase.reading.cautions import (
    kind_cautions,
    session_cautions,
    standing_cautions,
)
from slowphase.reading.parting_ways import parting_ways
from slowphase.reading.words import reason_text
from slowphase.reference.sets import marks
from slowphase.report.agreement_section import TITLE, agreement_rows, not_tested
from slowphase.report.drawing import at_once, inline
from slowphase.report.front import front_section, lettered
from slowphase.report.function_panel import function_rows
from slowphase.report.kind_figures import (
    GROUP_FIGURES,
    captions,
    group_caption,
    kind_caption,
    kind_figure,
)
from slowphase.report.labels import (
    about_recording,
    condition_text,
    conditions_line,
    edit_text,
    incoherence_text,
    interval_text,
    measure_label,
    pair_title,
    patient_text,
    placement_source,
    quality_text,
    reference_text,
    short_source,
    stimulus_text,
    value_text,
    word,
)
from slowphase.report.overview_figure import front_figure, overview_figure
from slowphase.report.page_style import style_sheet
from slowphase.report.reading_section import reading_section
from slowphase.report.reference_words import others_text, unplaced_text
from slowphase.report.reflex.section import reflex_section
from slowphase.report.signed_part import (
    decided,
    file_date,
    signed_part,
    status_text,
    worded_part,
)
from slowphase.report.step_figure import step_figure
from slowphase.signing.decisions import Decisions

if TYPE_CHECKING:
    from collections.abc import Callable

    from jinja2 import Environment

    from slowphase.analysis.result import Analysis
    from slowphase.measures.measure import Measure
    from slowphase.measures.result import GroupResult, PairResult, TrialResult
    from slowphase.reading.statement import EvidenceItem, Statement
    from slowphase.report.clinic import Clinic
    from slowphase.report.drawing import Drawn
    from slowphase.signing.signature import SignedReading

Context = dict[str, Any]


def render_page(
    analysis: Analysis,
    *,
    clinic: Clinic | None = None,
    signed: SignedReading | None = None,
    draft: Decisions | None = None,
    earlier: str = "",
    progress: Callable[[str], None] | None = None,
    drawn: Drawn = at_once,
) -> str:
    """The report of one analysis as HTML; the same analysis gives the same bytes.

    Without ``signed`` it is a draft, and says so; ``draft`` holds what the signer decided so far,
    and ``earlier`` says that a signed version exists. ``progress`` is called with each trial's id
    before its picture is drawn. ``drawn`` gives a figure by its name (`session_figures`), drawn
    before or by the function that it is given.
    """
    decisions = signed.decisions if signed else draft or Decisions()
    head = {
        "clinic": clinic,
        "status": status_text(signed),
        "date": file_date(analysis, signed),
        "earlier": earlier,
        "signed": signed_part(signed, analysis),
        "worded": worded_part(decisions),
    }
    shown = [_statement(s, i, _known(analysis)) for i, s in enumerate(analysis.statements)]
    context = _context(analysis, progress, drawn) | head | decided(shown, analysis, decisions)
    return _environment().get_template("page.html").render(context)


@cache
def _environment() -> Environment:
    """The templates, read once."""
    from jinja2 import Environment, PackageLoader, StrictUndefined

    return Environment(
        loader=PackageLoader("slowphase.report"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )


def anchor(kind: str, id_: str) -> str:
    """The name of a place in the page, from an id that may hold any character."""
    return f"{kind}-" + re.sub(r"[^A-Za-z0-9_.-]", lambda found: f"_{ord(found[0]):x}", id_)


def _context(analysis: Analysis, progress: Callable[[str], None] | None, drawn: Drawn) -> Context:
    from markupsafe import Markup

    known = _known(analysis)
    return {
        "css": Markup(style_sheet()),
        "captions": captions()["session"],
        "analysis": analysis,
        "standing": standing_cautions(),
        "session_cautions": session_cautions(analysis.told),
        "parts": reading_section(analysis, anchor, drawn=drawn),
        "front": front_section(analysis, anchor),
        "front_figure": inline(drawn("front", partial(front_figure, analysis))),
        "overview": inline(drawn("overview", partial(overview_figure, analysis))),
        "parts_ways": parting_ways(analysis.function, analysis.groups),
        "function": (function := list(function_rows(analysis.function))),
        "function_sources": lettered(row[-1] for row in function),
        "steps": inline(drawn("steps", partial(step_figure, analysis))),
        "trials": [_trial(trial, analysis, progress, drawn) for trial in analysis.trials],
        "pairs": [_pair(pair, analysis) for pair in analysis.pairs],
        "groups": [_group(group, analysis, drawn) for group in analysis.groups],
        "reflex": reflex_section(analysis, explain(analysis), drawn=drawn),
        "incoherences": _incoherences(analysis),
        "agreement_title": TITLE,
        "agreements": agreement_rows(
            analysis, lambda found: _evidence(found.evidence, known), drawn=drawn
        ),
        "not_compared": not_tested(analysis),
        "edits": [edit_text(edit) for edit in analysis.edits.active],
        "sources": _sources(analysis),
        "unplaced": unplaced_text(analysis.unplaced),
        "facts": _facts(analysis),
        "conditions": conditions_line(analysis.told),
    }


def _known(analysis: Analysis) -> set[str]:
    """The measures that have a place in the page."""
    return {measure.id for measure in analysis.measures()}


def _facts(analysis: Analysis) -> list[tuple[str, str]]:
    done = sum(_is_measured(trial) for trial in analysis.trials)
    facts = [
        ("Patient", patient_text(analysis.patient)),
        ("Date", analysis.date.isoformat() if analysis.date else "unknown"),
        ("Trials", f"{done} measured of {len(analysis.trials)}"),
    ]
    told = [*analysis.notes.items(), *analysis.conditions.items()]
    return facts + [condition_text(key, value) for key, value in told]


def _is_measured(trial: TrialResult) -> bool:
    """Whether a trial was seen, and its kind is one that is measured."""
    only_shown = trial.quality is not None and "not_measured_yet" in trial.quality.why
    return trial.evidence is not None and not only_shown


def _statement(statement: Statement, index: int, known: set[str]) -> Context:
    return {
        "anchor": f"s-{index + 1}-{statement.code}",
        "code": statement.code,
        "title": statement.title,
        "verdict": statement.verdict,
        "verdict_words": statement.shown,
        "strength": statement.strength,
        "urgent": statement.urgent,
        "text": statement.text,
        "cautions": statement.cautions,
        "does_not_show": statement.does_not_show,
        "sources": _further_sources(statement),
        "version": statement.version,
        "evidence": _evidence(statement.evidence, known),
    }


def _further_sources(statement: Statement) -> list[str]:
    """Its sources, without those of limits that stand beside its measures."""
    limits = [item.limit.rpartition(": ") for item in statement.evidence if item.limit]
    beside = tuple(f"{label}, {text}: " for label, _, text in limits)
    return [source for source in statement.sources if not source.startswith(beside)]


def _evidence(items: tuple[EvidenceItem, ...], known: set[str]) -> list[Context]:
    """Each measure that something rests on, with its place in the page."""
    return [
        {
            "item": item,
            "anchor": anchor("m", item.measure) if item.measure in known else None,
            "mark": marks()[item.mark].text if item.mark else "",
        }
        for item in items
    ]


def _incoherences(analysis: Analysis) -> list[tuple[str, str]]:
    """What the trials do not agree in, where no comparison of the page says so."""
    told = {found.code for found in analysis.agreements}
    return [(f.code, incoherence_text(f)) for f in analysis.incoherences if f.code not in told]


def _trial(
    trial: TrialResult,
    analysis: Analysis,
    progress: Callable[[str], None] | None,
    drawn: Drawn,
) -> Context:
    if progress is not None:
        progress(trial.id)
    quality = trial.quality
    shared = shared_reasons(trial)
    return {
        "anchor": anchor("t", trial.id),
        "id": trial.id,
        "title": f"{word('kind', trial.kind)} – {trial.id}",
        "typed": trial.kind == "values",
        "stimulus": stimulus_text(trial),
        "outcome": trial.outcome,
        "reason": trial.reason,
        "parts": [part for part in trial.parts if part != trial.id],
        "quality": quality,
        "quality_numbers": quality_text(quality) if quality else "",
        "shared_why": [reason_text(code) for code in shared],
        "figure": inline(drawn(f"trial-{trial.id}", partial(kind_figure, trial))),
        "caption": kind_caption(trial),
        "rows": [_row(measure, analysis, shared) for measure in trial.measures],
    }


def shared_reasons(trial: TrialResult) -> tuple[str, ...]:
    """Reasons of the whole trial: said once above its table, not again in every row."""
    whole = trial.quality.why if trial.quality else ()
    lists = [measure.why for measure in trial.measures if measure.value is not None]
    everywhere = [code for code in lists[0] if all(code in why for why in lists)] if lists else []
    return tuple(dict.fromkeys([*whole, *everywhere]))


def _pair(pair: PairResult, analysis: Analysis) -> Context:
    return {
        "title": pair_title(pair),
        "anchor": anchor("t", f"{pair.kind}-{pair.dark}~{pair.fixation}"),
        "trials": [(id_, anchor("t", id_)) for id_ in (pair.dark, pair.fixation)],
        "rows": [_row(measure, analysis) for measure in pair.measures],
    }


def _group(group: GroupResult, analysis: Analysis, drawn: Drawn) -> Context:
    draw = GROUP_FIGURES.get(group.kind)
    figure = drawn(f"group-{group.id}", partial(draw, group, analysis)) if draw else None
    return {
        "title": word("group", group.kind),
        "anchor": anchor("g", group.id),
        "trials": [(id_, anchor("t", id_)) for id_ in group.trials],
        "figure": inline(figure),
        "caption": group_caption(group),
        "cautions": kind_cautions(group.kind),
        "rows": [_row(measure, analysis) for measure in group.measures],
    }


def _row(measure: Measure, analysis: Analysis, shared: tuple[str, ...] = ()) -> Context:
    placement = analysis.placements.get(measure.id)
    return {
        "anchor": anchor("m", measure.id),
        "label": measure_label(measure),
        "value": value_text(measure),
        "interval": interval_text(measure),
        "grade": measure.grade,
        "graded": measure.grade != "sound" or not about_recording(measure),
        "reference": reference_text(measure, placement),
        "source": short_source(placement) if placement else "",
        "source_anchor": anchor("r", placement.set) if placement else "",
        "why": [reason_text(code) for code in measure.why if code not in shared],
    }


def _sources(analysis: Analysis) -> list[Context]:
    """Each reference set in use once, with what must be known of it."""
    found: dict[str, Context] = {}
    for placement in analysis.placements.values():
        entry = found.setdefault(
            placement.set,
            {
                "anchor": anchor("r", placement.set),
                "title": short_source(placement),
                "set": placement.set,
                "source": placement_source(placement),
                "notes": [],
                "others": [],
            },
        )
        if placement.note and placement.note not in entry["notes"]:
            entry["notes"].append(placement.note)
        entry["others"] += [told for told in others_text(placement) if told not in entry["others"]]
    return list(found.values())
