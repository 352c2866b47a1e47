"""Every figure of a session by its name, for those who show them one at a time."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING

from slowphase.report.agreement_figure import agreement_figure
from slowphase.report.kind_figures import (
    GROUP_FIGURES,
    captions,
    group_caption,
    kind_caption,
    kind_figure,
)
from slowphase.report.labels import word
from slowphase.report.overview_figure import front_figure, overview_figure
from slowphase.report.pattern_figure import pattern_figure
from slowphase.report.step_figure import step_figure

if TYPE_CHECKING:
    from collections.abc import Iterator

    from slowphase.analysis.result import Analysis
    from slowphase.fit.result import SessionReflex
    from slowphase.report.drawing import Draw

OVERVIEW = "Function across frequency"


@dataclass(frozen=True, slots=True)
class SessionFigure:
    """A figure that is not drawn yet; ``draw`` gives inline SVG, None where there is nothing.

    ``trial`` or ``group`` is the id of what it shows, where it shows one of them.
    """

    name: str
    label: str
    caption: str
    draw: Draw
    trial: str | None = None
    group: str | None = None


def session_figures(analysis: Analysis) -> Iterator[SessionFigure]:
    """The figures that a session may have, in the order of the report."""
    words = captions()["session"]
    yield SessionFigure("front", OVERVIEW, words["overview"], partial(front_figure, analysis))
    yield SessionFigure("overview", OVERVIEW, words["overview"], partial(overview_figure, analysis))
    if any(trial.kind == "step" for trial in analysis.trials):
        steps = partial(step_figure, analysis)
        yield SessionFigure("steps", "Velocity steps", words["steps"], steps)
    for found in analysis.agreements:
        if found.panels and found.verdict != "not_tested":
            draw = partial(agreement_figure, found)
            name = f"agreement-{found.code}"
            yield SessionFigure(name, found.title, words["agreement"], draw)
    if analysis.patterns.ranking:
        draw = partial(pattern_figure, analysis.patterns)
        yield SessionFigure("patterns", "Signs of the nearest patterns", words["patterns"], draw)
    yield from _of_reflex(analysis)
    yield from _of_groups(analysis)
    yield from _of_trials(analysis)


def _of_reflex(analysis: Analysis) -> Iterator[SessionFigure]:
    if not any(trial.carried is not None for trial in analysis.trials):
        return
    titles = {"misfit": "One reflex for all trials", "trials": "One reflex, trial by trial",
              "effects": "What each part of the reflex does"}  # fmt: skip
    for part, title in titles.items():
        name = f"reflex-{part}"
        draw = partial(_draw_reflex, analysis, part)
        yield SessionFigure(name, title, captions()["session"][name], draw)


def _draw_reflex(analysis: Analysis, part: str) -> str | None:
    """A figure of one explanation of the session; the fit takes a second or two."""
    from slowphase.analysis.explain import explain

    reflex = explain(analysis)
    return None if reflex is None else _REFLEX[part](analysis, reflex)


def _misfit(_: Analysis, reflex: SessionReflex) -> str | None:
    from slowphase.fit.settings import FitSettings
    from slowphase.report.reflex.misfit_figure import misfit_figure

    return misfit_figure(reflex.agreement, FitSettings())


def _trials(analysis: Analysis, reflex: SessionReflex) -> str | None:
    from slowphase.report.reflex.trials_figure import trials_figure

    return trials_figure(analysis, reflex)


def _effects(_: Analysis, reflex: SessionReflex) -> str | None:
    from slowphase.report.reflex.effect_figure import effect_figure

    return effect_figure(reflex)


_REFLEX = {"misfit": _misfit, "trials": _trials, "effects": _effects}


def _of_groups(analysis: Analysis) -> Iterator[SessionFigure]:
    for group in analysis.groups:
        draw = GROUP_FIGURES.get(group.kind)
        if draw is not None:
            yield SessionFigure(
                f"group-{group.id}", word("group", group.kind), group_caption(group),
                partial(draw, group, analysis), group=group.id,
            )  # fmt: skip


def _of_trials(analysis: Analysis) -> Iterator[SessionFigure]:
    for trial in analysis.trials:
        if trial.evidence is not None:
            yield SessionFigure(
                f"trial-{trial.id}", f"{word('kind', trial.kind)} – {trial.id}",
                kind_caption(trial), partial(kind_figure, trial), trial=trial.id,
            )  # fmt: skip
