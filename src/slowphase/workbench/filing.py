"""Patients, sessions and the log as they are told."""

from __future__ import annotations

from typing import TYPE_CHECKING

from slowphase.workbench.opened.kept import Kept
from slowphase.workbench.opened.shown import grade_counts
from slowphase.workbench.shapes.patients import (
    GradeCounts,
    LogEntry,
    PatientEntry,
    SessionEntry,
)

if TYPE_CHECKING:
    from slowphase.store.rows import LogEntry as Row
    from slowphase.store.rows import PatientRow, SessionRow
    from slowphase.workbench.house import House


def patient_entries(here: House, find: str) -> list[PatientEntry]:
    """Patients in whose code, name or sessions every word of ``find`` occurs."""
    return [patient_entry(here, patient) for patient in here.store.patients(find)]


def patient_entry(here: House, patient: PatientRow) -> PatientEntry:
    """A patient with every session."""
    return PatientEntry(
        id=patient.id,
        code=patient.code,
        name=patient.name,
        sex=patient.sex,
        sessions=[session_entry(here, session) for session in patient.sessions],
    )


def session_entry(here: House, session: SessionRow) -> SessionEntry:
    """A session in a list."""
    return SessionEntry(
        id=session.id,
        patient=session.patient,
        date=session.date.isoformat() if session.date else None,
        title=session.title,
        added_at=session.added_at,
        added_by=session.added_by,
        demo=session.demo,
        grade_counts=_grade_counts(here, session),
        edits=session.edits,
        signed_version=session.signed_version,
        draft=session.draft,
    )


def _grade_counts(here: House, session: SessionRow) -> GradeCounts | None:
    """The grades of the state that the store has now, where it was measured."""
    key = here.room.wanted(session.id).key
    held = here.room.held(session.id, key)
    if held is not None:
        return GradeCounts(**grade_counts(held.document))
    brief = Kept(here.store, session.id).brief(key)
    return None if brief is None else GradeCounts(**brief["grade_counts"])


def log_entries(here: House, before: int | None, limit: int, **of: str | None) -> list[LogEntry]:
    """Entries of the log, the last first."""
    return [log_entry(row) for row in here.store.log(before=before, limit=limit, **of)]


def log_entry(row: Row) -> LogEntry:
    """One entry of the log."""
    return LogEntry(
        id=row.id,
        at=row.at,
        by=row.by,
        what=row.what,
        text=row.text,
        patient=row.patient,
        session=row.session,
        detail=dict(row.detail),
        reversible=row.reversible,
        reverses=row.reverses,
        reversed_by=row.reversed_by,
    )
