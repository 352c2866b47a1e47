"""One trial: what can be drawn of it, and its samples.

A trial's id may hold any sign, slashes too; what belongs to a trial is asked for before the trial.
"""

from __future__ import annotations

from fastapi import APIRouter, Response

from slowphase.workbench.answers import JsonText
from slowphase.workbench.house import Here
from slowphase.workbench.shapes.trials import FoldedAnswer, ImpulsesAnswer, TrialAnswer
from slowphase.workbench.traces.asked import WINDOW_ANSWER, Channels, Columns, Seconds
from slowphase.workbench.traces.window import MEDIA_TYPE
from slowphase.workbench.trial_answer import told, window

router = APIRouter(tags=["trials"])


@router.get(
    "/sessions/{session}/trials/{trial:path}/window",
    response_class=Response,
    responses=WINDOW_ANSWER,
)
def read_window(
    here: Here,
    session: str,
    trial: str,
    channels: Channels,
    start_s: Seconds = None,
    stop_s: Seconds = None,
    columns: Columns = 1000,
) -> Response:
    """Samples of some channels between two moments, thinned to about so many columns."""
    data = window(here, session, trial, channels.split(","), (start_s, stop_s), columns)
    return Response(data, media_type=MEDIA_TYPE)


@router.get("/sessions/{session}/trials/{trial:path}/folded", response_model=FoldedAnswer)
def read_folded(here: Here, session: str, trial: str) -> Response:
    """All cycles of a sinusoid by the phase of the chair; empty for other kinds."""
    return JsonText(told(here, session, trial, "folded"))


@router.get("/sessions/{session}/trials/{trial:path}/impulses", response_model=ImpulsesAnswer)
def read_impulses(here: Here, session: str, trial: str) -> Response:
    """Every head impulse of a trial with its traces; none for other kinds."""
    return JsonText(told(here, session, trial, "impulses"))


@router.get("/sessions/{session}/trials/{trial:path}", response_model=TrialAnswer)
def read_trial(here: Here, session: str, trial: str) -> Response:
    """A trial: channels, quick phases, unused samples with reasons, cycles, changes."""
    return JsonText(told(here, session, trial, "answer"))
