"""Reference sets: where they come from, adding one, the clinic's own intervals."""

from __future__ import annotations

from functools import partial

from fastapi import APIRouter

from slowphase.workbench.house import Here
from slowphase.workbench.reference_answer import (
    build_intervals,
    check_without,
    checked,
    references_answer,
)
from slowphase.workbench.shapes.jobs import JobAnswer
from slowphase.workbench.shapes.references import (
    IntervalsAsked,
    ReferenceAdded,
    ReferenceChecked,
    ReferenceRemoved,
    ReferencesAnswer,
)

router = APIRouter(tags=["references"])


@router.get("/references")
def list_references(here: Here) -> ReferencesAnswer:
    """Every set that measures are held against, with source, population and values."""
    return references_answer(here)


@router.post("/references/check")
def check_reference(here: Here, asked: ReferenceChecked) -> ReferencesAnswer:
    """The sets as they would be with this file; 422 with everything that is wrong with it."""
    return checked(here, asked)


@router.post("/references")
def add_reference(here: Here, asked: ReferenceAdded) -> ReferencesAnswer:
    """Add a set, or the clinic's order as ``references.toml``; 409 where the name is taken."""
    checked(here, asked)
    here.store.add_reference_file(asked.name, asked.text, by=asked.by)
    return references_answer(here)


@router.post("/references/{name}/remove")
def remove_reference(here: Here, name: str, asked: ReferenceRemoved) -> ReferencesAnswer:
    """Take a set out of use; its text stays in the store and in the log. 422 while one names it."""
    check_without(here, name)
    here.store.remove_reference_file(name, by=asked.by, reason=asked.reason)
    return references_answer(here)


@router.post("/references/build")
def build_reference(here: Here, asked: IntervalsAsked) -> JobAnswer:
    """Make the clinic's own intervals of healthy sessions; the job gives text and pictures."""
    for session in asked.sessions:
        here.store.session(session)
    about = f"intervals {asked.model_dump_json()}"
    return here.jobs.answer(here.jobs.start(about, partial(build_intervals, here, asked)).id)
