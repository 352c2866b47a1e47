"""The edits of a session: rows that are only added, and that make `Edits` again."""

import json
from collections.abc import Mapping
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session as Rows

from slowphase.edits.edit import Edit, Edits
from slowphase.edits.file import COMMON, edit_entry, edits_from
from slowphase.store.change import Change
from slowphase.store.errors import StoreConflict, StoreError
from slowphase.store.sessions import find_session
from slowphase.store.tables import Edit as Table


def edits_of(rows: Rows, session: str) -> Edits:
    """The log of a session's edits."""
    found = rows.scalars(select(Table).where(Table.session == session).order_by(Table.number))
    return Edits(tuple(Edit(e.number, e.kind, e.trial, e.own, e.by, e.at, e.reason) for e in found))


def expected_edits(rows: Rows, session: str, expected: int) -> Edits:
    """The log, if it is as long as the caller saw it; raises `StoreConflict` otherwise."""
    find_session(rows, session)
    edits = edits_of(rows, session)
    if len(edits.log) != expected:
        raise StoreConflict(
            f"the edits were changed by someone else: expected {expected} entries, found "
            f"{len(edits.log)}; look at them and try again"
        )
    return edits


def add_edit(
    change: Change,
    session: str,
    before: Edits,
    kind: str,
    trial: str | None,
    values: Mapping[str, Any],
    reason: str,
) -> Edits:
    """Add one edit; raises `InputError` with everything that is wrong with it."""
    own = _plain_values(values)
    after = before.with_edit(kind, trial, by=change.by, at=change.at, reason=reason, **own)
    edits_from([edit_entry(edit) for edit in after.log])
    of = f" on {trial}" if trial else ""
    return _keep(change, session, before, after, "edit_added", f"edited: {kind}{of}: {reason}")


def _plain_values(values: Mapping[str, Any]) -> dict[str, Any]:
    """The values as they will be read again."""
    taken = sorted(set(values) & set(COMMON))
    if taken:
        raise StoreError(f"{taken[0]} is no value of an edit: expected the keys of its kind only")
    try:
        return dict(json.loads(json.dumps(dict(values), allow_nan=False)))
    except (TypeError, ValueError, RecursionError) as error:
        raise StoreError(f"the values of the edit are no plain data: {error}") from error


def undo(change: Change, session: str, before: Edits) -> Edits:
    """Take the last edit that holds back; raises `StoreConflict` where none holds."""
    after = before.undo(by=change.by, at=change.at)
    if after is before:
        raise StoreConflict("there is no edit to take back")
    return _keep(change, session, before, after, "edit_undone", "took the last edit back")


def redo(change: Change, session: str, before: Edits) -> Edits:
    """Bring the edit back that was taken back last; raises `StoreConflict` without one."""
    after = before.redo(by=change.by, at=change.at)
    if after is before:
        raise StoreConflict("there is no edit to bring back")
    return _keep(change, session, before, after, "edit_redone", "brought an edit back")


def _keep(change: Change, session: str, before: Edits, after: Edits, what: str, text: str) -> Edits:
    for edit in after.log[len(before.log) :]:
        change.rows.add(
            Table(
                session=session, number=edit.id, kind=edit.kind, trial=edit.trial,
                own=dict(edit.values), by=edit.by, at=edit.at, reason=edit.reason,
            )
        )  # fmt: skip
    patient = find_session(change.rows, session).patient
    entry = edit_entry(after.log[-1])
    change.log(what, text, patient=patient, session=session, detail={"edit": entry})
    return after
