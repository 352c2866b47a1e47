"""Signed versions of readings: whole records that name the one before, never changed again."""

from sqlalchemy import select
from sqlalchemy.orm import Session as Rows

from slowphase.foundation.errors import UsageError
from slowphase.signing.record import Record, check_chain, check_page, open_record
from slowphase.store.change import Change
from slowphase.store.errors import StoreConflict, StoreError
from slowphase.store.rows import SignedVersion
from slowphase.store.sessions import find_session
from slowphase.store.tables import Reading


def versions_of(rows: Rows, session: str) -> tuple[SignedVersion, ...]:
    """The signed versions of a session, the first first."""
    find_session(rows, session)
    query = select(Reading).where(Reading.session == session).order_by(Reading.number)
    return tuple(
        SignedVersion(one.number, one.record_text, one.page_html, one.at, one.by)
        for one in rows.scalars(query)
    )


def check_versions(versions: tuple[SignedVersion, ...]) -> list[Record]:
    """The records of all versions; raises `StoreError` where one is not as it was signed."""
    try:
        records = [open_record(one.record_text, f"version {one.number}") for one in versions]
        check_chain(records)
        for record, version in zip(records, versions, strict=True):
            check_page(record, version.page_html, f"the page of version {version.number}")
    except UsageError as error:
        raise StoreError(str(error)) from error
    return records


def keep_version(change: Change, session: str, record_text: str, page_html: str) -> SignedVersion:
    """Add the next signed version; raises `StoreConflict` where another was signed first."""
    row = find_session(change.rows, session)
    versions = versions_of(change.rows, session)
    record = _opened(record_text)
    if record.version != len(versions) + 1:
        raise StoreConflict(
            f"version {record.version} cannot be signed: {len(versions)} versions are; "
            "look at the last one and sign again"
        )
    made = SignedVersion(
        record.version,
        record_text,
        page_html,
        record.signed_at,
        str(record.content["signed"]["by"]),
    )
    check_versions((*versions, made))
    change.rows.add(
        Reading(
            session=session, number=made.number, record_text=record_text, page_html=page_html,
            by=made.by, at=made.at,
        )
    )  # fmt: skip
    digests = {"reading_digest": record.reading_digest, "digest": record.digest}
    change.log(
        "reading_signed",
        f"signed version {made.number} of the reading, as {made.by}",
        patient=row.patient,
        session=session,
        detail={"version": made.number, **digests},
    )
    return made


def _opened(record_text: str) -> Record:
    try:
        return open_record(record_text, "the record")
    except UsageError as error:
        raise StoreError(str(error)) from error
