"""One session: its document, its edits, its draft and its signed versions."""

from typing import Any

from pydantic import Field

from slowphase.workbench.shapes.base import (
    Asked,
    Document,
    MeasureEntry,
    Plain,
    Reasoned,
    Shape,
    Signed,
    StatementEntry,
)
from slowphase.workbench.shapes.patients import SessionEntry


class EditEntry(Shape):
    """One entry of the log of edits; ``holds`` is false where it was taken back."""

    id: int
    kind: str
    trial: str | None
    values: dict[str, Any]
    by: str
    at: str
    reason: str
    holds: bool


class EditsEntry(Shape):
    """The log of edits; ``count`` is its length, which the next change names as ``expected``."""

    log: list[EditEntry]
    count: int
    can_undo: bool
    can_redo: bool


class DraftEntry(Shape):
    """What the signer decided so far; by a statement's key or ``summary``."""

    reworded: dict[str, str]
    dropped: dict[str, str]
    remark: str


class VersionEntry(Shape):
    """A signed version; ``differs`` says in words what changed since the version before."""

    number: int
    by: str
    at: str
    reading_digest: str
    replaces: int | None
    differs: list[str]


class FigureEntry(Shape):
    """A figure that the session has, and the trial or group that it shows."""

    name: str
    label: str
    caption: str
    trial: str | None
    group: str | None


class FileEntry(Shape):
    """An original file as it came."""

    path: str
    bytes: int
    sha256: str


class SessionAnswer(Shape):
    """One session.

    ``document`` is null while ``job`` measures it for the first time: ask again when that is done.
    ``statement_keys`` names each statement of the document for the draft, in its order.
    ``reading_digest`` ties a signature to what was shown; it is null without a document.
    ``signed_as_shown`` is the last version's number where nothing differs from it.
    """

    session: SessionEntry
    patient_code: str
    files: list[FileEntry]
    document: Document | None
    job: str | None
    statement_keys: list[str]
    figures: list[FigureEntry]
    edits: EditsEntry
    draft: DraftEntry
    versions: list[VersionEntry]
    reading_digest: str | None
    signed_as_shown: int | None


class EditAsked(Reasoned):
    """One edit; ``expected`` is the length of the log that the caller saw."""

    kind: str
    trial: str | None = None
    values: dict[str, Any] = Field(default_factory=dict)
    expected: int = Field(ge=0)


class UndoAsked(Signed):
    """Take back the last edit, or bring it back."""

    expected: int = Field(ge=0)


class ChangedMeasure(Shape):
    """A measure that an edit changed, made or took away."""

    id: str
    before: MeasureEntry | None
    after: MeasureEntry | None


class ChangedStatement(Shape):
    """A statement whose words, verdict or evidence changed."""

    key: str
    before: StatementEntry
    after: StatementEntry


class ChangedStatements(Shape):
    """What an edit did to the statements."""

    added: list[StatementEntry]
    gone: list[StatementEntry]
    changed: list[ChangedStatement]


class ChangedAnswer(Shape):
    """What an edit did; ``trials`` names those whose traces or events are others now.

    ``problems`` names what stopped the edit from holding (``edit_does_not_fit``), where it did.
    """

    edits: EditsEntry
    document: Document
    changed: list[ChangedMeasure]
    statements: ChangedStatements
    trials: list[str]
    statement_keys: list[str]
    figures: list[FigureEntry]
    reading_digest: str


class EditsFile(Shape):
    """The file for ``slowphase analyze --edits``."""

    schema_: int = Field(alias="schema")
    edits: list[dict[str, Any]]


class DraftAsked(Signed):
    """The whole draft; what it does not name is accepted."""

    reworded: dict[str, Plain] = Field(default_factory=dict)
    dropped: dict[str, Plain] = Field(default_factory=dict)
    remark: Plain = ""


class DraftAnswer(Shape):
    """The draft as it is kept, and the digest of the reading with it."""

    draft: DraftEntry
    reading_digest: str | None


class SignAsked(Signed):
    """Sign the reading that was shown: ``expected_digest`` is that of the preview."""

    passphrase: str = Field(min_length=1, max_length=1000)
    expected_digest: str = Field(min_length=64, max_length=64)


class SignAnswer(Shape):
    """The version that was signed, and what the signer should know."""

    version: VersionEntry
    notices: list[str]


class SignerEntry(Shape):
    """Someone who may sign."""

    name: str
    added_at: str


class SignerAsked(Asked):
    """A new signer."""

    name: str = Field(min_length=1, max_length=200)
    passphrase: str = Field(min_length=1, max_length=1000)
