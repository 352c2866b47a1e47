"""An edit, undo and redo: tried first, kept if they fit, and what they changed."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from slowphase.edits.file import edit_entry, edits_from
from slowphase.store import StoreConflict
from slowphase.store.checked_text import checked_by, checked_reason
from slowphase.workbench.reading_digest import reading_digest
from slowphase.workbench.refusals import Refusal
from slowphase.workbench.session_answer import edits_entry

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from slowphase.edits.edit import Edits
    from slowphase.workbench.house import House
    from slowphase.workbench.opened.shown import Shown
    from slowphase.workbench.shapes.sessions import EditAsked, UndoAsked

Json = dict[str, Any]
SOMETIME = "2000-01-01T00:00:00+00:00"  # until the store says when; no number depends on it


def add_edit(here: House, session: str, asked: EditAsked) -> Json:
    """One more edit; 409 where another came first, 422 where it does not fit the session."""
    by, reason = checked_by(asked.by), checked_reason(asked.reason)

    def tried(edits: Edits) -> Edits:
        after = _with(edits, asked, by, reason)
        edits_from([edit_entry(edit) for edit in after.log])
        return after

    def keep() -> Edits:
        return here.store.add_edit(
            session, asked.kind, asked.trial, asked.values,
            by=asked.by, reason=asked.reason, expected=asked.expected,
        )  # fmt: skip

    return _change(here, session, asked.expected, tried, keep)


def _with(edits: Edits, asked: EditAsked, by: str, reason: str) -> Edits:
    own = {"by": by, "at": SOMETIME, "reason": reason}
    taken = sorted({*own, "id", "kind", "trial"} & set(asked.values))
    if taken:
        raise Refusal(
            422, "invalid_edit", f"{taken[0]} is no value of an edit.",
            found=taken[0], expected="the keys of its kind only",
        )  # fmt: skip
    return edits.with_edit(asked.kind, asked.trial, **own, **asked.values)


def undo(here: House, session: str, asked: UndoAsked) -> Json:
    """The last edit that holds taken back; 409 where none holds."""
    by = checked_by(asked.by)
    return _change(
        here, session, asked.expected,
        lambda edits: edits.undo(by=by, at=SOMETIME),
        lambda: here.store.undo(session, by=asked.by, expected=asked.expected),
    )  # fmt: skip


def redo(here: House, session: str, asked: UndoAsked) -> Json:
    """The edit that was taken back last brought back; 409 without one."""
    by = checked_by(asked.by)
    return _change(
        here, session, asked.expected,
        lambda edits: edits.redo(by=by, at=SOMETIME),
        lambda: here.store.redo(session, by=asked.by, expected=asked.expected),
    )  # fmt: skip


def _change(
    here: House,
    session: str,
    expected: int,
    tried: Callable[[Edits], Edits],
    keep: Callable[[], Edits],
) -> Json:
    wanted, opened = here.room.wanted(session), here.room.open(session)
    found = len(wanted.edits.log)
    if found != expected:
        raise StoreConflict(
            f"the edits were changed by someone else: expected {expected} entries, found {found}; "
            "look at them and try again"
        )
    after = tried(wanted.edits)
    if after is wanted.edits:
        raise StoreConflict("there is no edit to take back or to bring back")
    here.room.make_room(opened, wanted)
    was, now = opened.change(wanted, after, keep, lambda _what, _share: None)
    here.room.keep_later(opened)
    return changed_answer(here, session, was, now)


def changed_answer(here: House, session: str, was: Shown, now: Shown) -> Json:
    """What a change did, as `shapes.sessions.ChangedAnswer` has it."""
    draft, versions = here.store.draft(session), here.store.versions(session)
    trials = [id_ for id_, name in now.trials.items() if was.trials.get(id_) != name]
    return {
        "edits": edits_entry(here.store.edits(session)),
        "document": now.document,
        "changed": changed_measures(was.document, now.document),
        "statements": changed_statements(was, now),
        "trials": trials,
        "statement_keys": list(now.statement_keys),
        "figures": list(now.figures),
        "reading_digest": reading_digest(now, draft, versions),
    }


def changed_measures(was: Json, now: Json) -> list[Json]:
    """Measures that are others now, in the order of the document; those that are gone last."""
    before, after = measures_of(was), measures_of(now)
    ids = [*after, *(id_ for id_ in before if id_ not in after)]
    return [
        {"id": id_, "before": before.get(id_), "after": after.get(id_)}
        for id_ in ids
        if before.get(id_) != after.get(id_)
    ]


def measures_of(document: Json) -> dict[str, Json]:
    """Every measure of a document by its id."""
    parts = [*document["trials"], *document["pairs"], *document["groups"]]
    return {measure["id"]: measure for part in parts for measure in part["measures"]}


def changed_statements(was: Shown, now: Shown) -> Json:
    """Statements that came, went or are others now."""
    before, after = (_by_key(one.statement_keys, one.document["statements"]) for one in (was, now))
    return {
        "added": [one for key, one in after.items() if key not in before],
        "gone": [one for key, one in before.items() if key not in after],
        "changed": [
            {"key": key, "before": before[key], "after": one}
            for key, one in after.items()
            if key in before and before[key] != one
        ],
    }


def _by_key(keys: Sequence[str], statements: Sequence[Json]) -> Mapping[str, Json]:
    return dict(zip(keys, statements, strict=True))
