"""The course of a patient: the page of all sessions, events beside them, the clinic's retests."""

from __future__ import annotations

import hashlib
import json
from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING, Any

from slowphase.course.document import course_document
from slowphase.course.events import parse_events
from slowphase.course.retest_build import build_retest
from slowphase.course.retest_file import parse_retest, retest_text
from slowphase.course.timeline import follow
from slowphase.foundation.errors import InputError
from slowphase.recording.report_problem import make_problem
from slowphase.report.course_page import render_course
from slowphase.workbench.shapes.courses import CourseEvent, EventsAnswer

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from slowphase.analysis.result import Analysis
    from slowphase.workbench.house import House
    from slowphase.workbench.jobs import Job
    from slowphase.workbench.shapes.courses import CourseAsked, RetestBuildAsked

EVENTS, RETESTS = "events.toml", "retest.toml"


def events_answer(here: House, patient: str) -> EventsAnswer:
    """The events of a patient, by date."""
    text = here.store.course_notes(patient)
    found = parse_events(text, EVENTS) if text else ()
    return EventsAnswer(
        events=[
            CourseEvent.model_validate(
                {"date": e.date.isoformat(), "label": e.label, "kind": e.kind}
            )
            for e in found
        ]
    )


def save_events(here: House, patient: str, events: Iterable[CourseEvent], by: str) -> None:
    """Keep the events of a patient; raises `InputError` for a day that is none."""
    tables = [_as_toml(n, event) for n, event in enumerate(events)]
    text = "".join(["schema = 1\n", *tables]) if tables else ""
    if text:
        parse_events(text, EVENTS)
    here.store.save_course_notes(patient, text, by=by)


def _as_toml(number: int, event: CourseEvent) -> str:
    try:
        day = date.fromisoformat(event.date)
    except ValueError as error:
        raise _no_day(number, event.date) from error
    label = json.dumps(event.label, ensure_ascii=False)
    return f'\n[[event]]\ndate = {day.isoformat()}\nlabel = {label}\nkind = "{event.kind}"\n'


def _no_day(number: int, found: str) -> InputError:
    return InputError([make_problem(
        "invalid_course_file", f"event {number + 1} has the date {found}, which is no day",
        expected="a day such as 2026-03-02", remedy="correct it", found=found,
        key=f"event {number + 1}, date",
    )])  # fmt: skip


def save_retests(here: House, text: str, by: str) -> None:
    """Keep the clinic's retests; raises `InputError` with everything that is wrong with them."""
    parse_retest(text, RETESTS)
    here.store.save_retests(text, by=by)


def matter(here: House, patient: str, asked: CourseAsked) -> str:
    """What a course is about; another one once events or retests are others."""
    told = repr((here.store.retests(), here.store.course_notes(patient)))
    return f"course {patient} {asked.between} {hashlib.sha256(told.encode()).hexdigest()[:16]}"


def course(here: House, patient: str, asked: CourseAsked, job: Job) -> dict[str, Any]:
    """The course as its page and as its document."""
    sessions = [session.id for session in here.store.patient(patient).sessions]
    retests, events = here.store.retests(), here.store.course_notes(patient)
    found = follow(
        list(_analyses(here, sessions, job)),
        retest=parse_retest(retests, RETESTS) if retests else None,
        events=parse_events(events, EVENTS) if events else (),
        between=None if asked.between is None else (asked.between[0], asked.between[1]),
        different_patients=True,  # they are filed as one: the page names codes that differ
    )
    job.tell("drawing", 0.95)
    return {"page": render_course(found), "document": course_document(found)}


def retests_of(here: House, asked: RetestBuildAsked, job: Job) -> dict[str, Any]:
    """The clinic's retests made of pairs of sessions: the file's text, and what was left out."""
    built = build_retest(_analyses(here, asked.sessions, job), source="own retests")
    return {
        "text": retest_text(built.retest, ("Built in the workbench.",)),
        "left_out": list(built.left_out),
        "problems": [problem.message for problem in built.problems],
    }


def _analyses(here: House, sessions: Iterable[str], job: Job) -> Iterator[Analysis]:
    """Each session measured, without its samples, which a course does not look at."""
    wanted = list(dict.fromkeys(sessions))
    for number, session in enumerate(wanted):
        job.tell(f"session {number + 1} of {len(wanted)}", 0.9 * number / len(wanted))
        analysis = here.room.analysis(session, lambda what, _share: job.tell(what))
        yield replace(
            analysis, trials=tuple(replace(trial, evidence=None) for trial in analysis.trials)
        )
