"""The session's reflex as text that fits 80 columns."""

from __future__ import annotations

from typing import TYPE_CHECKING

from slowphase.reading.cautions import standing_cautions
from slowphase.reading.words import number, reason_text
from slowphase.report.labels import patient_text
from slowphase.report.reflex.words import (
    ABOUT,
    NOT_A_DIAGNOSIS,
    agreement_text,
    beside_text,
    deviation_name,
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
from slowphase.report.terminal import HEAD_CAUTIONS
from slowphase.report.terminal_parts import heading, plain, table

if TYPE_CHECKING:
    from collections.abc import Iterator

    from rich.console import RenderableType

    from slowphase.analysis.result import Analysis
    from slowphase.fit.agreement import Deviation
    from slowphase.fit.result import SessionReflex

REACH, WIDTH = 4.0, 33  # standard errors that the misfit chart spans to each side, columns


def reflex_view(analysis: Analysis, reflex: SessionReflex | None) -> RenderableType:
    """One explanation of a session; print it with a rich console."""
    from rich.console import Group

    parts = [*_head(analysis)]
    if reflex is None:
        parts.append(plain("No trial in the dark moves the chair: there is no reflex to explain."))
    else:
        parts += [
            *_reflex(reflex),
            *_explanations(analysis, reflex),
            *_misfits(reflex),
            *_predicted(analysis, reflex),
            *_effects(reflex),
            *_healthy(reflex),
        ]
    return Group(*parts)


def _head(analysis: Analysis) -> Iterator[RenderableType]:
    date = analysis.date.isoformat() if analysis.date else "date unknown"
    yield heading(f"One reflex for all trials: {patient_text(analysis.patient)}, {date}")
    yield plain(ABOUT)
    yield plain(" ".join(standing_cautions()[:HEAD_CAUTIONS]), style="dim")


def _reflex(reflex: SessionReflex) -> Iterator[RenderableType]:
    yield heading("Do the trials agree?")
    yield plain(agreement_text(reflex))
    for code in reflex.why:
        yield plain(f"! {reason_text(code)}  [{code}]")
    text = nystagmus_text(reflex)
    if text:
        yield heading("Without the nystagmus")
        yield plain(text)
    yield heading("The reflex and the nystagmus")
    columns = ("", "value", "95 % interval", "beside the healthy model")
    yield table(columns, [list(row) for row in rows(reflex)], left=1)
    if not_told_text(reflex):
        yield plain(not_told_text(reflex))


def _explanations(analysis: Analysis, reflex: SessionReflex) -> Iterator[RenderableType]:
    yield heading("What could make such a reflex")
    yield plain(explanations_text(reflex))
    if beside_text(analysis):
        yield plain(beside_text(analysis))
    for found in reflex.explanations:
        if found.as_well:
            yield plain(f"● {found.title}", style="bold")
            yield plain(explanation_text(found), indent=2)
            yield plain(f"Told apart by: {found.told_apart}", indent=2, style="dim")
    if ruled_out(reflex):
        yield plain(ruled_out(reflex))
    yield plain(NOT_A_DIAGNOSIS, style="dim")


def _misfits(reflex: SessionReflex) -> Iterator[RenderableType]:
    """Each deviation on a line from -4 to 4 of its own spread."""
    found = reflex.agreement.deviations
    if not found:
        return
    yield heading("Deviation of each response from the best common reflex")
    width = max(len(deviation_name(d)) for d in found)
    yield plain(f"{'':{width}} −{REACH:.0f} spreads{'0':^{WIDTH - 18}}+{REACH:.0f} spreads")
    for deviation in found:
        unit = "deg" if deviation.of == "phase" else "%"
        size = f"{number(deviation.value, unit)} {unit}"
        yield plain(f"{deviation_name(deviation):{width}} {misfit_bar(deviation)} {size:>9}")


def misfit_bar(deviation: Deviation) -> str:
    """A line with the middle, the limits of chance and the deviation; an arrow beyond its ends."""
    line = ["·"] * WIDTH
    for mark, at in (("|", -1.96), ("|", 1.96), ("+", 0.0)):
        line[_column(at)] = mark
    beyond = abs(deviation.standardised) > REACH
    sign = "▶" if deviation.standardised > 0 else "◀"
    line[_column(deviation.standardised)] = sign if beyond else "●"
    return "".join(line)


def _column(standardised: float) -> int:
    share = (min(max(standardised, -REACH), REACH) + REACH) / (2 * REACH)
    return round(share * (WIDTH - 1))


def _effects(reflex: SessionReflex) -> Iterator[RenderableType]:
    found = effect_rows(reflex)
    if not found:
        return
    yield heading("What each parameter outside the healthy range does")
    yield plain("Each measure as the reflex makes it, and with that parameter healthy.")
    for text, own in found:
        yield plain(f"{text}:", style="bold")
        yield table(("trial", "measure", "is", "would be"), list(effect_table(own)), left=2)


def _predicted(analysis: Analysis, reflex: SessionReflex) -> Iterator[RenderableType]:
    yield heading("Measured trial by trial, and predicted by the one reflex")
    results = {trial.id: trial for trial in analysis.trials}
    lines = [row for view in reflex.views for row in predicted_rows(view, results[view.trial])]
    yield table(("trial", "measure", "measured", "", "predicted"), lines, left=2)


def _healthy(reflex: SessionReflex) -> Iterator[RenderableType]:
    yield heading("The healthy ranges and their sources")
    for text in healthy_texts(reflex):
        yield plain(text, style="dim")
