"""What a person corrects: one edit at a time, undo and redo; the answer says what changed."""

from __future__ import annotations

from fastapi import APIRouter, Response

from slowphase.workbench.answers import JsonText
from slowphase.workbench.correcting import add_edit, redo, undo
from slowphase.workbench.house import Here
from slowphase.workbench.shapes.sessions import ChangedAnswer, EditAsked, UndoAsked

router = APIRouter(tags=["edits"])


@router.post("/sessions/{session}/edits", response_model=ChangedAnswer)
def make_edit(here: Here, session: str, asked: EditAsked) -> Response:
    """Add an edit; 409 where another came first, 422 where it does not fit the session."""
    return JsonText(add_edit(here, session, asked))


@router.post("/sessions/{session}/undo", response_model=ChangedAnswer)
def undo_edit(here: Here, session: str, asked: UndoAsked) -> Response:
    """Take back the last edit that holds."""
    return JsonText(undo(here, session, asked))


@router.post("/sessions/{session}/redo", response_model=ChangedAnswer)
def redo_edit(here: Here, session: str, asked: UndoAsked) -> Response:
    """Bring back the edit that was taken back last."""
    return JsonText(redo(here, session, asked))
