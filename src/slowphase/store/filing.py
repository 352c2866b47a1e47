"""Sessions under the right patient: merging duplicates, moving a session, and taking that back."""

from typing import Any

from sqlalchemy import select, update
from sqlalchemy.orm import Session as Rows

from slowphase.store import kept_texts
from slowphase.store.change import Change
from slowphase.store.errors import StoreConflict, StoreError, StoreMissing
from slowphase.store.kept_texts import NOTES
from slowphase.store.patients import find_patient, make_patient
from slowphase.store.rows import REVERSIBLE
from slowphase.store.sessions import find_session
from slowphase.store.tables import Log, Patient, Session


def merge_patients(change: Change, source: str, into: str, reason: str) -> None:
    """Give all sessions and notes of a patient to another, who is the same person."""
    old, kept = find_patient(change.rows, source), find_patient(change.rows, into)
    if source == into:
        raise StoreError(f"{old.code} cannot be merged with itself: expected two patients")
    moved = list(change.rows.scalars(select(Session.id).where(Session.patient == source)))
    _file_under(change.rows, moved, into)
    old.merged_into = into
    detail = {"from": source, "into": into, "sessions": moved, "reason": reason}
    notes = _merge_notes(change, source, into)
    text = f"merged {old.code} into {kept.code} ({len(moved)} sessions): {reason}"
    change.log("patients_merged", text, patient=into, detail=detail | notes)


def _merge_notes(change: Change, source: str, into: str) -> dict[str, Any]:
    """Put the notes of both into one text; returns what taking it back needs."""
    old, kept = (kept_texts.last(change.rows, NOTES, name) for name in (source, into))
    if old is None or not old.text:
        return {}
    before = "" if kept is None or kept.text is None else kept.text
    both = f"{before.rstrip()}\n\n{old.text}" if before.strip() else old.text
    notes = kept_texts.keep(change, NOTES, into, both)
    return {"notes": notes, "notes_before": None if kept is None else kept.id}


def move_session(change: Change, session: str, to: str | None, reason: str) -> None:
    """File a session under another patient, or under a new one made of what its file says."""
    row = find_session(change.rows, session)
    before = row.patient
    made = to is None
    target = to or make_patient(change, row.told_code, row.told_name, row.told_sex)
    if before == target:
        raise StoreError("the session is filed under this patient already: expected another one")
    code = find_patient(change.rows, target).code
    row.patient = target
    old = change.rows.get_one(Patient, before).code
    change.log(
        "session_moved",
        f"moved a session from {old} to {'a new patient ' if made else ''}{code}: {reason}",
        patient=target,
        session=session,
        detail={"from": before, "into": target, "made": made, "reason": reason},
    )


def reverse(change: Change, entry_id: int, reason: str) -> None:
    """Take back a merge or a move; `StoreConflict` where a later change stands in the way."""
    entry = change.rows.get(Log, entry_id)
    if entry is None:
        raise StoreMissing(f"there is no entry {entry_id} in the log")
    if entry.what not in REVERSIBLE:
        raise StoreError(
            f"not reversible: entry {entry_id} ({entry.text}); expected a merge or move"
        )
    by = change.rows.scalar(select(Log.id).where(Log.reverses == entry_id))
    if by is not None:
        raise StoreConflict(f"entry {entry_id} was reversed already, by entry {by}")
    detail = dict(entry.detail)
    if entry.what == "patients_merged":
        _take_back_merge(change, entry, detail)
    else:
        _take_back_move(change, entry, detail)
    change.log(
        "reversed",
        f"reversed entry {entry_id} ({entry.text}): {reason}",
        patient=detail["from"],
        session=entry.session,
        reverses=entry_id,
        detail={**detail, "reason": reason},
    )


def _take_back_merge(change: Change, entry: Log, detail: dict[str, Any]) -> None:
    source = change.rows.get_one(Patient, detail["from"])
    _check_holds(change.rows, entry, detail["into"])
    _check_filed(change.rows, entry, detail["sessions"], detail["into"])
    _take_back_notes(change, entry, detail)
    source.merged_into = None
    _file_under(change.rows, detail["sessions"], source.id)


def _take_back_notes(change: Change, entry: Log, detail: dict[str, Any]) -> None:
    if "notes" not in detail:
        return
    now = kept_texts.last(change.rows, NOTES, detail["into"])
    if now is None or now.text != kept_texts.text_of(change.rows, detail["notes"]):
        raise StoreConflict(
            f"entry {entry.id} cannot be reversed: the notes on the course were changed since; "
            "expected them as the merge left them: put them back first"
        )
    before = kept_texts.text_of(change.rows, detail["notes_before"])
    kept_texts.keep(change, NOTES, detail["into"], before)


def _take_back_move(change: Change, entry: Log, detail: dict[str, Any]) -> None:
    session = str(entry.session)
    _check_holds(change.rows, entry, detail["from"])
    _check_filed(change.rows, entry, [session], detail["into"])
    _file_under(change.rows, [session], detail["from"])
    if detail["made"] and not _holds_anything(change.rows, detail["into"]):
        change.rows.get_one(Patient, detail["into"]).withdrawn = True


def _holds_anything(rows: Rows, patient: str) -> bool:
    """Whether a patient has sessions, notes, or others merged into it."""
    notes = kept_texts.last(rows, NOTES, patient)
    sessions = rows.scalar(select(Session.id).where(Session.patient == patient).limit(1))
    merged = rows.scalar(select(Patient.id).where(Patient.merged_into == patient).limit(1))
    return bool(notes and notes.text) or sessions is not None or merged is not None


def _check_holds(rows: Rows, entry: Log, patient: str) -> None:
    """A patient who gets or gives sessions back must not have been merged or withdrawn since."""
    found = rows.get_one(Patient, patient)
    if found.merged_into is not None or found.withdrawn:
        raise _stands_in_the_way(rows, entry, patient, f"the patient {found.code} was merged")


def _check_filed(rows: Rows, entry: Log, sessions: list[str], patient: str) -> None:
    for session in sessions:
        if find_session(rows, session).patient != patient:
            raise _stands_in_the_way(rows, entry, session, f"the session {session} was moved")


def _stands_in_the_way(rows: Rows, entry: Log, name: str, what: str) -> StoreConflict:
    """The conflict, with the last entry that concerns a patient or session."""
    query = select(Log).where(Log.id > entry.id).order_by(Log.id.desc())
    later = next((one for one in rows.scalars(query) if _concerns(one, name)), None)
    told = (
        "reverse that first" if later is None else f"reverse entry {later.id} ({later.text}) first"
    )
    return StoreConflict(f"entry {entry.id} cannot be reversed: {what} since; {told}")


def _concerns(entry: Log, name: str) -> bool:
    detail = entry.detail
    named = (entry.session, detail.get("from"), detail.get("into"), *detail.get("sessions", ()))
    return entry.what in (*REVERSIBLE, "reversed") and name in named


def _file_under(rows: Rows, sessions: list[str], patient: str) -> None:
    for session in sessions:
        rows.execute(update(Session).where(Session.id == session).values(patient=patient))
