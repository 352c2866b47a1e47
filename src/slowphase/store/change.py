"""One change: who makes it, when, and the entry of the log that goes with it."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy.orm import Session

from slowphase.store.tables import Log


def now_iso() -> str:
    """The time now, with its offset from UTC."""
    return datetime.now().astimezone().isoformat(timespec="seconds")


@dataclass(frozen=True, slots=True)
class Change:
    """A transaction with its author; ``rows`` is the database's session."""

    rows: Session
    by: str
    at: str

    def log(
        self,
        what: str,
        text: str,
        *,
        patient: str | None = None,
        session: str | None = None,
        reverses: int | None = None,
        detail: dict[str, Any] | None = None,
    ) -> int:
        """Add the entry that says what was done; returns its id."""
        self.rows.flush()  # what the entry names stands before it
        entry = Log(
            at=self.at, by=self.by, what=what, text=text, patient=patient, session=session,
            detail=detail or {}, reverses=reverses,
        )  # fmt: skip
        self.rows.add(entry)
        self.rows.flush()
        return entry.id
