"""An analysis as text that fits 80 columns, with or without colour, on a screen or in a file."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from slowphase.eye.trace import USED
from slowphase.reading.cautions import standing_cautions
from slowphase.reading.words import interval, more_digits, number, reason_text
from slowphase.report.labels import (
    LETTERS,
    interval_text,
    measure_label,
    ordinal_percentile,
    stimulus_text,
    value_text,
    word,
)
from slowphase.report.overview_figure import points
from slowphase.report.sparks import interval_bar, sparkline

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from rich.console import RenderableType
    from rich.table import Table

    from slowphase.analysis.result import Analysis
    from slowphase.measures.measure import Measure
    from slowphase.measures.result import PairResult, TrialResult
    from slowphase.reading.statement import Statement

SPARK, BAR, FLAT_DEG_S = 48, 34, 5.0
MARKS = {"holds": "●", "does_not_hold": "○", "cannot_tell": "?"}
SEEN = {"light": "(light)", "head-fixed target": "(target)", "earth-fixed scene": "(scene)"}
SHOWN_APART = ("spontaneous", "sinusoid", "step")


def terminal_view(analysis: Analysis) -> RenderableType:
    """Everything a clinician needs at once; print it with a rich console."""
    from rich.console import Group

    return Group(
        *_head(analysis),
        *_problems(analysis),
        *_statements(analysis.statements),
        *_gain_chart(analysis),
        *_traces(analysis),
        *_spontaneous(analysis),
        *_sinusoids(analysis),
        *_steps(analysis),
        *_pairs(analysis.pairs),
        *_others(analysis),
        *_reasons(analysis),
        *_foot(analysis),
    )


def _heading(text: str) -> RenderableType:
    from rich.text import Text

    return Text(f"\n{text}", style="bold")


def _plain(text: str, indent: int = 0, style: str = "") -> RenderableType:
    from rich.padding import Padding
    from rich.text import Text

    return Padding(Text(text, style=style), (0, 0, 0, indent), expand=False)


def _head(analysis: Analysis) -> Iterator[RenderableType]:
    patient = analysis.patient
    age = "age unknown" if patient.age_years is None else f"{patient.age_years:g} years"
    date = analysis.date.isoformat() if analysis.date else "date unknown"
    yield _heading(f"{patient.code}, {age}, {patient.sex}, {date}")
    told = [f"{key.replace('_', ' ')}: {value}" for key, value in analysis.conditions.items()]
    if told:
        yield _plain("; ".join(told))
    yield _plain(" ".join(standing_cautions()[:2]), style="dim")


def _problems(analysis: Analysis) -> Iterator[RenderableType]:
    if analysis.problems:
        yield _heading("Problems with the input")
        for problem in analysis.problems:
            yield _plain(f"! {problem.message}  [{problem.code}]")


def _statements(statements: tuple[Statement, ...]) -> Iterator[RenderableType]:
    if not statements:
        return
    yield _heading("Reading   ● holds   ○ does not hold   ? cannot tell")
    said: set[str] = set()
    for statement in statements:
        verdict = word("verdict", statement.verdict)
        yield _plain(
            f"{MARKS[statement.verdict]} {statement.title} – {verdict} ({statement.strength})",
            style="bold" if statement.verdict == "holds" else "",
        )
        yield _plain(statement.text, indent=2)
        fresh = [caution for caution in statement.cautions if caution not in said]
        said.update(fresh)
        for caution in fresh:
            yield _plain(f"Caution: {caution}", indent=2, style="dim")


def _table(columns: tuple[str, ...], rows: list[list[str]], *, left: int) -> Table:
    """A plain table; the first ``left`` columns are text that may fold, the others numbers."""
    from rich.table import Table

    table = Table(box=None, padding=(0, 2, 0, 0), pad_edge=False, header_style="underline")
    for index, name in enumerate(columns):
        table.add_column(name, justify="left" if index < left else "right", overflow="fold")
    for row in rows:
        table.add_row(*row)
    return table


def _find(part: TrialResult, name: str, of: str | None = None) -> Measure | None:
    found = (m for m in part.measures if m.name == name and of in (None, m.of))
    return next(found, None)


def _cell(measure: Measure | None) -> str:
    """Value and interval without the unit; ``*`` marks a number that is not sound."""
    if measure is None or measure.value is None:
        return "–"
    star = "" if measure.grade == "sound" else "*"
    spread = interval(measure.low, measure.high, measure.unit)
    more = more_digits(measure.low, measure.high, measure.unit)
    value = number(measure.value, measure.unit, more=more)
    return (f"{value} ({spread})" if spread else value) + star


def _usable(trial: TrialResult) -> str:
    return f"{trial.quality.usable_pct:3.0f} % usable" if trial.quality else ""


def _traces(analysis: Analysis) -> Iterator[RenderableType]:
    """The slow phase of every trial in one line, so that a bad one is seen at once."""
    shown = [trial for trial in analysis.trials if trial.evidence is not None]
    if not shown:
        return
    yield _heading("Slow phase over time, each trial from its lowest to its highest; · is a gap")
    width = min(max(len(trial.id) for trial in shown), 17)
    for trial in shown:
        yield _plain(f"{trial.id[:width]:{width}} {_spark(trial)} {_usable(trial)}")


def _spark(trial: TrialResult) -> str:
    if trial.evidence is None:
        return ""
    trace = trial.evidence.horizontal
    velocity = np.where(trace.use == USED, trace.velocity_deg_s, np.nan)
    return sparkline(velocity, SPARK, FLAT_DEG_S)


def _gain_chart(analysis: Analysis) -> Iterator[RenderableType]:
    shown = list(points(analysis, "gain"))
    if not shown:
        return
    highest = [p.measure.high or p.measure.value or 0.0 for p in shown]
    top = max(1.0, *highest)
    yield _heading("Gain across frequency, sinusoids in the dark")
    for point in shown:
        measure, placement = point.measure, point.placement
        band = (placement.lower, placement.upper) if placement else (None, None)
        bar = interval_bar(measure.value or 0.0, (measure.low, measure.high), band, (0.0, top), BAR)
        place = ordinal_percentile(placement.percentile if placement else None) or "no reference"
        yield _plain(f"{point.frequency_hz:>6g} Hz |{bar}| {number(measure.value, '1')}  {place}")
    yield _plain(f"{'':9} 0{'':{BAR - 4}}{top:.2f}   ● value ━ 95 % ░ reference", style="dim")


def _spontaneous(analysis: Analysis) -> Iterator[RenderableType]:
    trials = [trial for trial in analysis.trials if trial.kind == "spontaneous"]
    if not trials:
        return
    yield _heading("Spontaneous nystagmus (slow phase in deg/s, to the right positive)")
    rows = [
        [
            trial.id,
            trial.vision or "–",
            _cell(_find(trial, "velocity", "horizontal")),
            _cell(_find(trial, "velocity", "vertical")),
            _cell(_find(trial, "beats_per_min")),
        ]
        for trial in trials
    ]
    yield _table(("trial", "vision", "horizontal", "vertical", "beats/min"), rows, left=2)


def _sinusoids(analysis: Analysis) -> Iterator[RenderableType]:
    trials = [trial for trial in analysis.trials if trial.kind == "sinusoid"]
    if not trials:
        return
    yield _heading("Sinusoids (phase in deg, lead positive; bias in deg/s)")
    rows = [
        [
            f"{trial.id} {SEEN.get(trial.vision or '', '')}".strip(),
            *(_cell(_find(trial, name)) for name in ("gain", "phase", "bias")),
        ]
        for trial in trials
    ]
    yield _table(("trial", "gain", "phase", "bias"), rows, left=1)


def _steps(analysis: Analysis) -> Iterator[RenderableType]:
    trials = [trial for trial in analysis.trials if trial.kind == "step"]
    if not trials:
        return
    yield _heading("Velocity steps (time constants in s; plain: 37 % of the raw peak)")
    rows = [_step_row(trial, of) for trial in trials for of in ("per", "post")]
    columns = ("trial", "excites", "response", "gain", "time constant", "plain")
    yield _table(columns, rows, left=3)


def _step_row(trial: TrialResult, of: str) -> list[str]:
    gain = _find(trial, "gain", of)
    side = gain.exciting if gain else None
    names = ("time_constant", "time_constant_raw")
    cells = [_cell(gain), *(_cell(_find(trial, name, of)) for name in names)]
    return [trial.id, LETTERS[side] if side else "–", of, *cells]


def _pairs(pairs: Iterable[PairResult]) -> Iterator[RenderableType]:
    rows = [(pair, measure) for pair in pairs for measure in pair.measures]
    if not rows:
        return
    yield _heading("Pairs of trials")
    cells = [
        [
            f"{pair.dark} ~ {pair.fixation}",
            measure_label(measure),
            value_text(measure),
            interval_text(measure),
        ]
        for pair, measure in rows
    ]
    yield _table(("pair", "measure", "value", "95 %"), cells, left=2)


def _others(analysis: Analysis) -> Iterator[RenderableType]:
    """Trials of kinds without a table of their own: named, with what was measured, if anything."""
    trials = [trial for trial in analysis.trials if trial.kind not in SHOWN_APART]
    if trials:
        yield _heading("Other trials")
    for trial in trials:
        measured = [f"{measure_label(m)} {value_text(m)}" for m in trial.measures]
        told = "; ".join(measured) or "not measured"
        yield _plain(f"{trial.id}: {word('kind', trial.kind)}, {stimulus_text(trial)}: {told}")


def _reasons(analysis: Analysis) -> Iterator[RenderableType]:
    """Every reason once, with the trials that it concerns."""
    where: dict[str, dict[str, None]] = {}
    for trial in analysis.trials:
        codes = [*(trial.quality.why if trial.quality else ())]
        codes += [code for measure in trial.measures for code in measure.why]
        for code in codes:
            where.setdefault(code, {})[trial.id] = None
    for pair in analysis.pairs:
        for code in (code for measure in pair.measures for code in measure.why):
            where.setdefault(code, {})[f"{pair.dark} ~ {pair.fixation}"] = None
    left_out = [t for t in analysis.trials if t.outcome != "done"]
    if where or left_out:
        yield _heading("Reasons   * marks a number that is not sound")
    for code, ids in where.items():
        yield _plain(f"{reason_text(code)} [{code}: {', '.join(ids)}]")
    for trial in left_out:
        yield _plain(f"{trial.id}: {trial.outcome}, {trial.reason or 'no reason given'}.")


def _foot(analysis: Analysis) -> Iterator[RenderableType]:
    yield _heading("Cautions")
    for caution in standing_cautions():
        yield _plain(f"- {caution}")
    made = analysis.provenance
    yield _plain(
        f"\nslowphase {made.version}, input {made.input_digest[:12]}, settings "
        f"{made.settings_digest[:12]}, references {made.reference_digest[:12]}",
        style="dim",
    )
