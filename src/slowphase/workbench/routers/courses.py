"""Courses: all sessions of a patient against one another, events, and the clinic's retests."""

from __future__ import annotations

from functools import partial

from fastapi import APIRouter

from slowphase.workbench.course_answer import (
    course,
    events_answer,
    matter,
    retests_of,
    save_events,
    save_retests,
)
from slowphase.workbench.house import Here
from slowphase.workbench.shapes.courses import (
    CourseAsked,
    EventsAnswer,
    EventsAsked,
    RetestBuildAsked,
    RetestsAnswer,
    RetestsAsked,
)
from slowphase.workbench.shapes.jobs import JobAnswer

router = APIRouter(tags=["courses"])


@router.post("/patients/{patient}/course")
def follow_patient(here: Here, patient: str, asked: CourseAsked) -> JobAnswer:
    """Hold the sessions of a patient against one another; the job gives page and document."""
    here.store.patient(patient)
    about = matter(here, patient, asked)
    return here.jobs.answer(here.jobs.start(about, partial(course, here, patient, asked)).id)


@router.get("/patients/{patient}/events")
def read_events(here: Here, patient: str) -> EventsAnswer:
    """Doses, treatments and onsets between the sessions."""
    return events_answer(here, patient)


@router.put("/patients/{patient}/events")
def write_events(here: Here, patient: str, asked: EventsAsked) -> EventsAnswer:
    """Keep the events in place of the last."""
    save_events(here, patient, asked.events, asked.by)
    return events_answer(here, patient)


@router.get("/retests")
def read_retests(here: Here) -> RetestsAnswer:
    """The clinic's own retest variability, without which no change is called real."""
    return RetestsAnswer(text=here.store.retests())


@router.put("/retests")
def write_retests(here: Here, asked: RetestsAsked) -> RetestsAnswer:
    """Keep the retests; 422 with everything that is wrong with them."""
    save_retests(here, asked.text, asked.by)
    return RetestsAnswer(text=here.store.retests())


@router.post("/retests/build")
def build_retests(here: Here, asked: RetestBuildAsked) -> JobAnswer:
    """Make the retests of pairs of sessions of people in whom nothing changed."""
    for session in asked.sessions:
        here.store.session(session)
    about = f"retests {asked.model_dump_json()}"
    return here.jobs.answer(here.jobs.start(about, partial(retests_of, here, asked)).id)
