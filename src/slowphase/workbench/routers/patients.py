"""Patients: find, merge, and move a session that was filed under the wrong one."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query

from slowphase.workbench.filing import patient_entries, patient_entry, session_entry
from slowphase.workbench.house import Here
from slowphase.workbench.shapes.base import NAME_LONGEST
from slowphase.workbench.shapes.patients import (
    MergeAsked,
    MoveAsked,
    PatientEntry,
    SessionEntry,
)

router = APIRouter(tags=["patients"])


@router.get("/patients")
def list_patients(
    here: Here, find: Annotated[str, Query(max_length=NAME_LONGEST)] = ""
) -> list[PatientEntry]:
    """Patients whose code, name or sessions hold the words of ``find``; all without it."""
    return patient_entries(here, find)


@router.post("/patients/{patient}/merge")
def merge_patients(here: Here, patient: str, asked: MergeAsked) -> PatientEntry:
    """Put every session of this patient under another; reversible through the log."""
    here.store.merge_patients(patient, asked.into, by=asked.by, reason=asked.reason)
    return patient_entry(here, here.store.patient(asked.into))


@router.post("/sessions/{session}/move")
def move_session(here: Here, session: str, asked: MoveAsked) -> SessionEntry:
    """Put a session under another patient, or a new one; reversible through the log."""
    here.store.move_session(session, asked.patient, by=asked.by, reason=asked.reason)
    return session_entry(here, here.store.session(session))
