"""The log: who did what and when, and what of it can be reversed."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Path, Query

from slowphase.workbench.filing import log_entries
from slowphase.workbench.house import Here
from slowphase.workbench.shapes.base import Reasoned
from slowphase.workbench.shapes.patients import LogEntry

router = APIRouter(tags=["log"])
LARGEST = 2**53
LOOKED_AT = 500  # of the last entries, for the one that was just made
Id = Annotated[int, Path(ge=1, le=LARGEST)]


@router.get("/log")
def read_log(
    here: Here,
    patient: str | None = None,
    session: str | None = None,
    before: Annotated[int | None, Query(ge=1, le=LARGEST)] = None,
    limit: Annotated[int, Query(ge=1, le=500)] = 100,
) -> list[LogEntry]:
    """Entries of the log, the last first; ``before`` is the id from which to go on backwards."""
    return log_entries(here, before, limit, patient=patient, session=session)


@router.post("/log/{entry}/reverse")
def reverse_entry(here: Here, entry: Id, asked: Reasoned) -> LogEntry:
    """Reverse a merge or a move; the answer is the entry of that, and the log keeps both."""
    here.store.reverse(entry, by=asked.by, reason=asked.reason)
    return next(told for told in log_entries(here, None, LOOKED_AT) if told.reverses == entry)
