"""One session: its document, its log of edits, its draft and its signed versions."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter, Response

from slowphase.workbench.answers import JsonText
from slowphase.workbench.house import Here
from slowphase.workbench.session_answer import edits_file, session_answer
from slowphase.workbench.shapes.sessions import EditsFile, SessionAnswer

router = APIRouter(tags=["sessions"])


@router.get("/sessions/{session}", response_model=SessionAnswer)
def read_session(here: Here, session: str) -> Response:
    """One session with its result document, the same as that of ``slowphase analyze --json``."""
    return JsonText(session_answer(here, session))


@router.get("/sessions/{session}/edits.json", response_model=EditsFile)
def read_edits_file(here: Here, session: str) -> dict[str, Any]:
    """The edits as a file for ``slowphase analyze --edits``."""
    return edits_file(here, session)
