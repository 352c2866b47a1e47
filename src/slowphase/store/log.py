"""The log: who did what, when; the newest first."""

from sqlalchemy import ColumnElement, or_, select
from sqlalchemy.orm import Session as Rows
from sqlalchemy.orm import aliased

from slowphase.store.errors import StoreError
from slowphase.store.rows import LogEntry
from slowphase.store.tables import Log, Patient, Session


def entries(
    rows: Rows, *, patient: str | None, session: str | None, before: int | None, limit: int
) -> tuple[LogEntry, ...]:
    """Entries of a patient, of a session, or all; those with an id below ``before``.

    To a patient belong the entries of those merged into it, and of every session that it holds.
    """
    if limit < 1:
        raise StoreError(f"the limit is {limit}: expected 1 entry or more")
    later = aliased(Log)
    query = select(Log, later.id).outerjoin(later, later.reverses == Log.id)
    if patient is not None:
        query = query.where(_of_patient(patient))
    if session is not None:
        query = query.where(Log.session == session)
    if before is not None:
        query = query.where(Log.id < before)
    found = rows.execute(query.order_by(Log.id.desc()).limit(limit))
    return tuple(_entry(row, by) for row, by in found)


def _of_patient(patient: str) -> ColumnElement[bool]:
    own = select(Patient.id).where(Patient.id == patient).cte(recursive=True)
    merged = aliased(Patient)
    own = own.union(select(merged.id).join(own, merged.merged_into == own.c.id))
    held = select(Session.id).where(Session.patient == patient)
    return or_(Log.patient.in_(select(own.c.id)), Log.session.in_(held))


def _entry(row: Log, reversed_by: int | None) -> LogEntry:
    return LogEntry(
        id=row.id,
        at=row.at,
        by=row.by,
        what=row.what,
        text=row.text,
        patient=row.patient,
        session=row.session,
        detail=row.detail,
        reverses=row.reverses,
        reversed_by=reversed_by,
    )
