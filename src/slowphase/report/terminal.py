"""An analysis as text that fits 80 columns, with or without colour, on a screen or in a file."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from slowphase.eye.trace import USED
from slowphase.reading.cautions import session_cautions, standing_cautions
from slowphase.reading.parting_ways import parting_ways
from slowphase.reading.words import number, people_words, place_words, reason_text
from slowphase.report.agreement_section import agreement_terminal
from slowphase.report.battery_terminal import battery_groups, battery_trials
from slowphase.report.folding import cycle_phase, folded_medians
from slowphase.report.kind_brief import brief
from slowphase.report.labels import (
    LETTERS,
    condition_text,
    edit_text,
    incoherence_text,
    interval_text,
    measure_label,
    patient_text,
    value_text,
    word,
)
from slowphase.report.overview_figure import points
from slowphase.report.reading_terminal import criteria_lines, pattern_lines, summary_lines
from slowphase.report.sparks import interval_bar, medians, sparkline
from slowphase.report.terminal_parts import cell, heading, plain, star, table

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from rich.console import RenderableType

    from slowphase.analysis.result import Analysis
    from slowphase.foundation.arrays import FloatArray
    from slowphase.measures.measure import Measure
    from slowphase.measures.result import PairResult, TrialResult
    from slowphase.reading.statement import Statement
    from slowphase.report.overview_figure import Point

SPARK, BAR, FLAT_DEG_S = 32, 32, 5.0
MARKS = {"holds": "●", "does_not_hold": "○", "cannot_tell": "?"}
HEAD_CAUTIONS = 2
SEEN = {"light": "(light)", "head-fixed target": "(target)", "earth-fixed scene": "(scene)"}
TABLED = ("velocity", "beats_per_min", "gain", "phase", "bias", "gain_right", "gain_left",
          "asymmetry", "time_constant", "time_constant_raw")  # fmt: skip
SHOWN_APART = ("spontaneous", "sinusoid", "step")


def terminal_view(analysis: Analysis) -> RenderableType:
    """Everything a clinician needs at once; print it with a rich console."""
    from rich.console import Group

    return Group(
        *_head(analysis),
        *_problems(analysis),
        *summary_lines(analysis),
        *_incoherences(analysis),
        *pattern_lines(analysis.patterns),
        *criteria_lines(analysis.criteria),
        *_statements(analysis.statements),
        *agreement_terminal(analysis),
        *_gain_chart(analysis),
        *_traces(analysis),
        *_function(analysis),
        *_spontaneous(analysis),
        *_sinusoids(analysis),
        *_steps(analysis),
        *_pairs(analysis.pairs),
        *battery_groups(analysis.groups),
        *battery_trials(t for t in analysis.trials if t.kind not in SHOWN_APART),
        *_reasons(analysis),
        *_edits(analysis),
        *_foot(analysis),
    )


def _head(analysis: Analysis) -> Iterator[RenderableType]:
    date = analysis.date.isoformat() if analysis.date else "date unknown"
    yield heading(f"{patient_text(analysis.patient)}, {date}")
    told = [" ".join(condition_text(key, value)) for key, value in analysis.conditions.items()]
    if told:
        yield plain("; ".join(told))
    yield plain(" ".join(standing_cautions()[:HEAD_CAUTIONS]), style="dim")
    yield plain(" ".join(session_cautions(analysis.told)), style="dim")


def _problems(analysis: Analysis) -> Iterator[RenderableType]:
    if analysis.problems:
        yield heading("Problems with the input")
        for problem in analysis.problems:
            yield plain(f"! {problem.message}  [{problem.code}]")


def _incoherences(analysis: Analysis) -> Iterator[RenderableType]:
    """What concerns the whole session, before anything is read from its numbers."""
    if analysis.incoherences:
        yield heading("Where the trials do not agree")
        for found in analysis.incoherences:
            yield plain(f"! {incoherence_text(found)}  [{found.code}]")


def _statements(statements: tuple[Statement, ...]) -> Iterator[RenderableType]:
    if not statements:
        return
    yield heading("Reading   ● found   ○ not found   ? cannot tell")
    for statement in statements:
        yield plain(
            f"{MARKS[statement.verdict]} {statement.title} – {statement.shown} "
            f"({statement.strength})",
            style="bold" if statement.verdict == "holds" else "",
        )
        yield plain(statement.text, indent=2)
        for caution in statement.cautions:
            yield plain(f"Caution: {caution}", indent=2, style="dim")


def _find(part: TrialResult, name: str, of: str | None = None) -> Measure | None:
    found = (m for m in part.measures if m.name == name and of in (None, m.of))
    return next(found, None)


def _usable(trial: TrialResult) -> str:
    return f"{trial.quality.usable_pct:3.0f} % usable" if trial.quality else ""


def _traces(analysis: Analysis) -> Iterator[RenderableType]:
    """The slow phase of every trial in one line, so that a bad one is seen at once."""
    shown = [trial for trial in analysis.trials if trial.evidence is not None]
    if not shown:
        return
    yield heading("Slow phase in deg/s, to the right upward, own range behind; · is a gap")
    width = min(max(len(trial.id) for trial in shown), 17)
    for kinds, title in ((("sinusoid",), "one folded cycle"), (("step",), "steps over time")):
        yield from _sparks([t for t in shown if t.kind in kinds], title, width)
    rest = [t for t in shown if t.kind not in ("sinusoid", "step")]
    yield from _sparks(rest, "chair at rest, over time", width)


def _sparks(trials: list[TrialResult], title: str, width: int) -> Iterator[RenderableType]:
    """Trials on a common scale, each with its own range."""
    if not trials:
        return
    middles = [_middles(trial) for trial in trials]
    axis = _common(middles)
    scale = f"{title}, all from {number(axis[0], '%')} to {number(axis[1], '%')} deg/s"
    yield plain(scale, style="dim")
    for trial, values in zip(trials, middles, strict=True):
        line = f"{trial.id[:width]:{width}} {sparkline(values, axis)} {_range(values):>14}"
        yield plain(f"{line} {_usable(trial)}".rstrip())


def _middles(trial: TrialResult) -> FloatArray:
    if trial.evidence is None:
        return np.full(SPARK, np.nan)
    trace, phase = trial.evidence.horizontal, cycle_phase(trial)
    velocity = np.where(trace.use == USED, trace.velocity_deg_s, np.nan)
    if phase is None:
        return medians(velocity, SPARK)
    return folded_medians(phase, velocity, SPARK)


def _common(middles: list[FloatArray]) -> tuple[float, float]:
    """The range of all, at least so wide that noise stays flat."""
    everything = np.concatenate(middles)
    known = everything[np.isfinite(everything)]
    if not known.size:
        return -FLAT_DEG_S, FLAT_DEG_S
    low, high = float(known.min()), float(known.max())
    spare = max(0.0, FLAT_DEG_S - (high - low)) / 2
    return low - spare, high + spare


def _range(values: FloatArray) -> str:
    known = values[np.isfinite(values)]
    if not known.size:
        return ""
    return f"{number(float(known.min()), 'deg/s')} to {number(float(known.max()), 'deg/s')}"


def _gain_chart(analysis: Analysis) -> Iterator[RenderableType]:
    shown = list(points(analysis, "gain"))
    if not shown:
        return
    highest = [p.measure.high or p.measure.value or 0.0 for p in shown]
    top = max(1.0, *highest)
    yield heading("Gain across frequency, sinusoids in the dark")
    for point in shown:
        measure, placement = point.measure, point.placement
        band = (placement.lower, placement.upper) if placement else (None, None)
        fill = "╌" if placement and placement.unstated else "░"
        spread = (measure.low, measure.high)
        bar = interval_bar(measure.value or 0.0, spread, band, (0.0, top), BAR, fill=fill)
        place = place_words(placement) if placement else "no reference"
        yield plain(f"{point.frequency_hz:>6g} Hz |{bar}| {number(measure.value, '1')}  {place}")
    yield plain(f"{'':9} 0{'':{BAR - 4}}{top:.2f}   ● value ━ 95 %", style="dim")
    yield plain("░ reference, central 95 %; ╌ one that does not state all of itself", style="dim")
    sets = dict.fromkeys(_set_text(p) for p in shown)
    told = [text for text in sets if text]
    if told:
        yield plain(f"References: {'; '.join(told)}", style="dim")


def _function(analysis: Analysis) -> Iterator[RenderableType]:
    """What calorics, chair and impulses say together of low and high frequencies."""
    said = parting_ways(analysis.function, analysis.groups)
    if said:
        yield heading("Low and high frequencies, side by side")
        for sentence in said:
            yield plain(sentence)


def _set_text(point: Point) -> str:
    """The reference set behind a point."""
    placement = point.placement
    if placement is None:
        return ""
    people = people_words(placement)
    told = f" ({people})" if people else ""
    return f"{point.frequency_hz:g} Hz {placement.set}{told}"


def _spontaneous(analysis: Analysis) -> Iterator[RenderableType]:
    trials = [trial for trial in analysis.trials if trial.kind == "spontaneous"]
    if not trials:
        return
    yield heading("Spontaneous nystagmus (slow phase in deg/s, to the right positive)")
    rows = [
        [
            trial.id,
            trial.vision or "–",
            cell(_find(trial, "velocity", "horizontal")),
            cell(_find(trial, "velocity", "vertical")),
            cell(_find(trial, "beats_per_min")),
        ]
        for trial in trials
    ]
    yield table(("trial", "vision", "horizontal", "vertical", "beats/min"), rows, left=2)


def _sinusoids(analysis: Analysis) -> Iterator[RenderableType]:
    trials = [trial for trial in analysis.trials if trial.kind == "sinusoid"]
    if not trials:
        return
    yield heading("Sinusoids (phase in deg, lead positive; bias in deg/s)")
    rows = [
        [
            _seen(trial),
            *(cell(_find(trial, name)) for name in ("gain", "phase", "bias")),
        ]
        for trial in trials
    ]
    yield table(("trial", "gain", "phase", "bias"), rows, left=1)
    yield from _halves(trials)


def _halves(trials: list[TrialResult]) -> Iterator[RenderableType]:
    names = ("gain_right", "gain_left", "asymmetry")
    measured = [t for t in trials if any(_find(t, name) for name in names)]
    if not measured:
        return
    yield heading("By exciting direction (asymmetry in %, bias left in, right positive)")
    rows = [[_seen(trial), *(cell(_find(trial, name)) for name in names)] for trial in measured]
    yield table(("trial", "half gain R", "half gain L", "asymmetry"), rows, left=1)


def _seen(trial: TrialResult) -> str:
    return f"{trial.id} {SEEN.get(trial.vision or '', '')}".strip()


def _steps(analysis: Analysis) -> Iterator[RenderableType]:
    trials = [trial for trial in analysis.trials if trial.kind == "step"]
    if not trials:
        return
    yield heading("Velocity steps (time constants in s; plain: 37 % of the raw peak)")
    rows = [_step_row(trial, of) for trial in trials for of in ("per", "post")]
    columns = ("trial", "excites", "response", "gain", "time constant", "plain")
    yield table(columns, rows, left=3)


def _step_row(trial: TrialResult, of: str) -> list[str]:
    gain = _find(trial, "gain", of)
    side = gain.exciting if gain else None
    names = ("time_constant", "time_constant_raw")
    cells = [cell(gain), *(cell(_find(trial, name, of)) for name in names)]
    return [trial.id, LETTERS[side] if side else "–", of, *cells]


def _pairs(pairs: Iterable[PairResult]) -> Iterator[RenderableType]:
    rows = [(pair, measure) for pair in pairs for measure in pair.measures]
    if not rows:
        return
    yield heading("Pairs of trials")
    cells = [
        [
            f"{pair.dark} ~ {pair.fixation}",
            measure_label(measure),
            value_text(measure) + star(measure),
            interval_text(measure),
        ]
        for pair, measure in rows
    ]
    yield table(("pair", "measure", "value", "95 %"), cells, left=2)


def _reasons(analysis: Analysis) -> Iterator[RenderableType]:
    """Every reason of a number shown here once, with the trials that it concerns."""
    where: dict[str, dict[str, None]] = {}
    for trial in analysis.trials:
        codes = [*(trial.quality.why if trial.quality else ())]
        tabled = trial.kind not in SHOWN_APART
        shown = (m for m in brief(trial) if tabled or m.name in TABLED)
        codes += [code for measure in shown for code in measure.why]
        for code in codes:
            where.setdefault(code, {})[trial.id] = None
    for group in analysis.groups:
        for code in (code for measure in group.measures for code in measure.why):
            where.setdefault(code, {})[word("group", group.kind)] = None
    for pair in analysis.pairs:
        for code in (code for measure in pair.measures for code in measure.why):
            where.setdefault(code, {})[f"{pair.dark} ~ {pair.fixation}"] = None
    left_out = [t for t in analysis.trials if t.outcome != "done"]
    if where or left_out:
        yield heading("Reasons   * marks a number that is not sound")
    for code, ids in where.items():
        yield plain(f"{reason_text(code)} [{code}: {', '.join(ids)}]")
    for trial in left_out:
        yield plain(f"{trial.id}: {trial.outcome}, {trial.reason or 'no reason given'}.")


def _edits(analysis: Analysis) -> Iterator[RenderableType]:
    """What a person changed, so that nobody takes it for what the machine found."""
    if analysis.edits.active:
        yield heading("Changed by hand")
        for edit in analysis.edits.active:
            yield plain(edit_text(edit))


def _foot(analysis: Analysis) -> Iterator[RenderableType]:
    yield heading("Cautions")
    for caution in standing_cautions()[HEAD_CAUTIONS:]:
        yield plain(f"- {caution}")
    made = analysis.provenance
    yield plain(
        f"\nslowphase {made.version}, input {made.input_digest[:12]}, settings "
        f"{made.settings_digest[:12]}, references {made.reference_digest[:12]}",
        style="dim",
    )
