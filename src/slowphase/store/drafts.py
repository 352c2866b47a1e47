"""Drafts of readings: what the signer has decided so far; nothing of it is signed."""

from typing import Any

from sqlalchemy.orm import Session as Rows

from slowphase.signing.decisions import Decisions
from slowphase.store.change import Change
from slowphase.store.checked_text import checked_content
from slowphase.store.sessions import find_session
from slowphase.store.tables import Draft


def draft_of(rows: Rows, session: str) -> Decisions:
    """The draft as it was last saved; without one everything is accepted."""
    find_session(rows, session)
    found = rows.get(Draft, session)
    return Decisions() if found is None else Decisions(**found.decisions)


def save_draft(change: Change, session: str, decisions: Decisions) -> None:
    """Keep a draft in place of the last; one that says the same is not saved again."""
    row = find_session(change.rows, session)
    plain = _plain(decisions)
    found = change.rows.get(Draft, session)
    if (_plain(Decisions()) if found is None else found.decisions) == plain:
        return
    change.rows.merge(Draft(session=session, decisions=plain, by=change.by, at=change.at))
    detail = {
        "reworded": sorted(decisions.reworded),
        "dropped": sorted(decisions.dropped),
        "remark": bool(decisions.remark),
    }
    text = "saved the draft of the reading"
    change.log("draft_saved", text, patient=row.patient, session=session, detail=detail)


def _plain(decisions: Decisions) -> dict[str, Any]:
    return {
        "reworded": _checked(decisions.reworded),
        "dropped": _checked(decisions.dropped),
        "remark": checked_content(decisions.remark, "the remark"),
    }


def _checked(texts: Any) -> dict[str, str]:
    return {name: checked_content(text, name) for name, text in texts.items()}
