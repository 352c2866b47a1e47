"""The log: who did what and when, and what of it can be reversed."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query

from slowphase.workbench.filing import log_entry
from slowphase.workbench.house import Here
from slowphase.workbench.shapes.base import Reasoned
from slowphase.workbench.shapes.patients import LogEntry

router = APIRouter(tags=["log"])
LARGEST = 2**53


@router.get("/log")
def read_log(
    here: Here,
    patient: str | None = None,
    session: str | None = None,
    before: Annotated[int | None, Query(ge=1, le=LARGEST)] = None,
    limit: Annotated[int, Query(ge=1, le=500)] = 100,
) -> list[LogEntry]:
    """Entries of the log, the last first; ``before`` is the id from which to go on backwards."""
    found = here.store.log(patient=patient, session=session, before=before, limit=limit)
    return [log_entry(entry) for entry in found]


@router.post("/log/{entry}/reverse")
def reverse_entry(here: Here, entry: int, asked: Reasoned) -> LogEntry:
    """Reverse a merge or a move; the log keeps both."""
    return log_entry(here.store.reverse(entry, by=asked.by, reason=asked.reason))
