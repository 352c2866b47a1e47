"""What the store hands out: plain values, as they stood when they were read."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any


@dataclass(frozen=True, slots=True)
class OriginalFile:
    """A file as it came: its path in the session's folder (with ``/``), size and SHA-256."""

    path: str
    bytes: int
    sha256: str


@dataclass(frozen=True, slots=True)
class SessionRow:
    """A session that was brought in.

    ``patient`` is the id of the patient under whom it is filed, ``date`` that of the examination
    (None where session.toml gave no possible one). ``input_digest`` equals that of the session as
    it is read, where every trace file that it names can be read. ``told_code`` is the patient's
    code in session.toml, which may differ from that of the patient under whom it was filed by hand.
    ``edits`` counts the entries of the log of edits, ``signed_version`` is the number of the last
    signed version, ``draft`` says whether a draft of the reading is kept.
    """

    id: str
    patient: str
    date: date | None
    title: str
    added_at: str
    added_by: str
    input_digest: str
    files: tuple[OriginalFile, ...]
    demo: bool
    told_code: str
    edits: int = 0
    signed_version: int | None = None
    draft: bool = False


@dataclass(frozen=True, slots=True)
class PatientRow:
    """A patient: a pseudonym, perhaps a name; sessions by date, the newest first."""

    id: str
    code: str
    name: str | None
    sex: str
    sessions: tuple[SessionRow, ...]


@dataclass(frozen=True, slots=True)
class SignedVersion:
    """A signed version of a session's reading: the record's text and the page that it covers."""

    number: int
    record_text: str
    page_html: str
    at: str
    by: str


@dataclass(frozen=True, slots=True)
class Signer:
    """Who may sign; the passphrase is not among what can be read."""

    name: str
    added_at: str


@dataclass(frozen=True, slots=True)
class KeptText:
    """A named text of the clinic (map, reference set, notes): who kept it, when."""

    name: str
    text: str
    at: str
    by: str


@dataclass(frozen=True, slots=True)
class LogEntry:
    """Who did what, when: ``what`` is a stable word, ``text`` the same in plain words.

    ``detail`` holds what changed as plain data; ``reverses`` and ``reversed_by`` are ids of other
    entries. Entries are never changed or removed.
    """

    id: int
    at: str
    by: str
    what: str
    text: str
    patient: str | None
    session: str | None
    detail: Mapping[str, Any]
    reverses: int | None = None
    reversed_by: int | None = None

    @property
    def reversible(self) -> bool:
        """Whether `Store.reverse` takes this entry, if no later change stands in the way."""
        return self.what in REVERSIBLE and self.reversed_by is None


REVERSIBLE = ("patients_merged", "session_moved")
