"""One session as it is told: its document and everything that was decided on it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from slowphase.edits.file import edits_document
from slowphase.signing.record import open_record
from slowphase.workbench.filing import session_entry
from slowphase.workbench.reading_digest import reading_digest, signed_as_shown

if TYPE_CHECKING:
    from slowphase.edits.edit import Edit, Edits
    from slowphase.signing.decisions import Decisions
    from slowphase.store.rows import SignedVersion
    from slowphase.workbench.house import House

Json = dict[str, Any]


def session_answer(here: House, session: str) -> Json:
    """A session as `shapes.sessions.SessionAnswer` has it; measures it beside where it must."""
    wanted = here.room.wanted(session)
    opened = here.room.open(session)
    shown = opened.shown(wanted.key)
    ready = shown is not None and opened.ready_for(wanted.key)
    job = None if ready else here.room.measure(session, prepare_only=shown is not None)
    draft, versions = here.store.draft(session), here.store.versions(session)
    return {
        "session": session_entry(here, wanted.row).model_dump(),
        "patient_code": here.store.patient(wanted.row.patient).code,
        "files": [_plain(file, "path", "bytes", "sha256") for file in wanted.row.files],
        "document": None if shown is None else shown.document,
        "job": job.id if job and shown is None else None,
        "statement_keys": list(shown.statement_keys) if shown else [],
        "figures": list(shown.figures) if shown else [],
        "edits": edits_entry(wanted.edits),
        "draft": draft_entry(draft),
        "versions": [version_entry(version) for version in versions],
        "reading_digest": None if shown is None else reading_digest(shown, draft, versions),
        "signed_as_shown": None if shown is None else signed_as_shown(shown, draft, versions),
    }


def edits_file(here: House, session: str) -> Json:
    """The log of edits as a file for the command line."""
    return edits_document(here.store.edits(session))


def edits_entry(edits: Edits) -> Json:
    """The log of edits as `shapes.sessions.EditsEntry` has it."""
    signed = {"by": "-", "at": "2000-01-01T00:00:00+00:00"}
    active = set(map(id, edits.active))
    return {
        "log": [_edit(edit, id(edit) in active) for edit in edits.log],
        "count": len(edits.log),
        "can_undo": edits.undo(**signed) is not edits,
        "can_redo": edits.redo(**signed) is not edits,
    }


def _edit(edit: Edit, holds: bool) -> Json:
    told = _plain(edit, "id", "kind", "trial", "by", "at", "reason")
    return {**told, "values": dict(edit.values), "holds": holds}


def draft_entry(draft: Decisions) -> Json:
    """A draft as `shapes.sessions.DraftEntry` has it."""
    return {
        "reworded": dict(draft.reworded),
        "dropped": dict(draft.dropped),
        "remark": draft.remark,
    }


def version_entry(version: SignedVersion) -> Json:
    """A signed version as `shapes.sessions.VersionEntry` has it."""
    record = open_record(version.record_text, f"version {version.number}")
    replaces = record.content["replaces"]
    return {
        "number": version.number,
        "by": version.by,
        "at": version.at,
        "reading_digest": record.reading_digest,
        "replaces": replaces["version"] if replaces else None,
        "differs": list(replaces["differs"]) if replaces else [],
    }


def _plain(value: object, *names: str) -> Json:
    return {name: getattr(value, name) for name in names}
