"""Sessions as rows: reading them, and filing a new one."""

from collections import defaultdict
from datetime import date

from sqlalchemy import ColumnElement, func, select, true
from sqlalchemy.orm import Session as Rows

from slowphase.store.change import Change
from slowphase.store.errors import StoreMissing
from slowphase.store.rows import OriginalFile, SessionRow
from slowphase.store.sought import sought_text
from slowphase.store.tables import Draft, Edit, Reading, Session
from slowphase.store.tables import OriginalFile as FileTable
from slowphase.store.told import Told


def session_rows(rows: Rows, where: ColumnElement[bool] | None = None) -> tuple[SessionRow, ...]:
    """The sessions that meet a condition, newest first."""
    chosen = true() if where is None else where
    edited = select(func.count()).where(Edit.session == Session.id).scalar_subquery()
    versions = (
        select(func.max(Reading.number)).where(Reading.session == Session.id).scalar_subquery()
    )
    drafted = select(Draft.session).where(Draft.session == Session.id).exists()
    query = (
        select(Session, edited, versions, drafted)
        .where(chosen)
        .order_by(Session.date.desc(), Session.added_at.desc(), Session.id)
    )
    files = _files(rows, chosen)
    return tuple(
        _row(session, edits, signed, draft, files[session.id])
        for session, edits, signed, draft in rows.execute(query)
    )


def _files(rows: Rows, chosen: ColumnElement[bool]) -> dict[str, list[OriginalFile]]:
    query = (
        select(FileTable.session, FileTable.path, FileTable.bytes, FileTable.sha256)
        .where(FileTable.session.in_(select(Session.id).where(chosen)))
        .order_by(FileTable.path)
    )
    found: dict[str, list[OriginalFile]] = defaultdict(list)
    for session, path, size, sha256 in rows.execute(query):
        found[session].append(OriginalFile(path, size, sha256))
    return found


def _row(
    session: Session, edits: int, signed: int | None, draft: bool, files: list[OriginalFile]
) -> SessionRow:
    return SessionRow(
        id=session.id,
        patient=session.patient,
        date=None if session.date is None else date.fromisoformat(session.date),
        title=session.title,
        added_at=session.added_at,
        added_by=session.added_by,
        input_digest=session.input_digest,
        files=tuple(files),
        demo=session.demo,
        told_code=session.told_code,
        edits=edits,
        signed_version=signed,
        draft=draft,
    )


def session_row(rows: Rows, session: str) -> SessionRow:
    """One session; raises `StoreMissing`."""
    find_session(rows, session)
    return session_rows(rows, Session.id == session)[0]


def find_session(rows: Rows, session: str) -> Session:
    """The row of a session; raises `StoreMissing`."""
    found = rows.get(Session, session)
    if found is None:
        raise StoreMissing(f"there is no session {session[:40]!r} in the store")
    return found


def file_session(
    change: Change, session: str, told: Told, *, patient: str, title: str, demo: bool
) -> None:
    """Add the rows of a session whose files are in their place, and the log's entry."""
    change.rows.add(
        Session(
            id=session, patient=patient, date=told.date and told.date.isoformat(), title=title,
            sought=sought_text(title, told.code, told.name, day=told.date), added_at=change.at,
            added_by=change.by, input_digest=told.input_digest, demo=demo, told_code=told.code,
            told_name=told.name, told_sex=told.sex,
        )
    )  # fmt: skip
    change.rows.flush()
    change.rows.add_all(
        FileTable(session=session, path=file.path, bytes=file.bytes, sha256=file.sha256)
        for file in told.files
    )
    day = "without a date" if told.date is None else f"of {told.date.isoformat()}"
    change.log(
        "session_added",
        f"added the session {day} of {told.code}, {len(told.files)} files",
        patient=patient,
        session=session,
        detail={"input_digest": told.input_digest, "title": title, "demo": demo},
    )
