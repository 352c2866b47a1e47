"""Work that takes longer than an answer may: how far it is, and stopping it."""

from __future__ import annotations

from fastapi import APIRouter

from slowphase.workbench.house import Here
from slowphase.workbench.shapes.jobs import JobAnswer

router = APIRouter(tags=["jobs"])


@router.get("/jobs/{job}")
def read_job(here: Here, job: str) -> JobAnswer:
    """How far a job is, and what came of it."""
    return here.jobs.answer(job)


@router.delete("/jobs/{job}")
def cancel_job(here: Here, job: str) -> JobAnswer:
    """Ask a job to stop; what it did is taken back."""
    here.jobs.cancel(job)
    return here.jobs.answer(job)
