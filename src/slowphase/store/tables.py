"""The tables of the store. What migrations make must equal them; a test compares the two.

Rows of ``original_files``, ``edits``, ``readings``, ``kept_texts`` and ``log`` are only added:
triggers of the first migration refuse to change or remove one.
"""

from typing import Any

from sqlalchemy import JSON, ForeignKey, Index, MetaData
from sqlalchemy.orm import DeclarativeBase, Mapped, mapped_column

APPEND_ONLY = ("original_files", "edits", "readings", "kept_texts", "log")


class Base(DeclarativeBase):
    """What all tables share: names of constraints that do not depend on the system."""

    metadata = MetaData(
        naming_convention={
            "ix": "ix_%(table_name)s_%(column_0_N_name)s",
            "uq": "uq_%(table_name)s_%(column_0_N_name)s",
            "fk": "fk_%(table_name)s_%(column_0_N_name)s",
            "pk": "pk_%(table_name)s",
        }
    )
    type_annotation_map = {dict[str, Any]: JSON}  # noqa: RUF012 - read by SQLAlchemy


class Patient(Base):
    """A patient; one that was merged stays, and names the patient who holds its sessions now.

    ``withdrawn`` patients were made by a move that was reversed. ``sought`` is what a search
    looks at.
    """

    __tablename__ = "patients"
    id: Mapped[str] = mapped_column(primary_key=True)
    code: Mapped[str] = mapped_column(index=True)
    name: Mapped[str | None]
    sex: Mapped[str]
    sought: Mapped[str]
    added_at: Mapped[str]
    added_by: Mapped[str]
    merged_into: Mapped[str | None] = mapped_column(ForeignKey("patients.id"))
    withdrawn: Mapped[bool]


class Session(Base):
    """A session; ``told_`` columns are what its session.toml says of the patient."""

    __tablename__ = "sessions"
    id: Mapped[str] = mapped_column(primary_key=True)
    patient: Mapped[str] = mapped_column(ForeignKey("patients.id"), index=True)
    date: Mapped[str | None]
    title: Mapped[str]
    sought: Mapped[str]
    added_at: Mapped[str]
    added_by: Mapped[str]
    input_digest: Mapped[str]
    demo: Mapped[bool]
    told_code: Mapped[str]
    told_name: Mapped[str | None]
    told_sex: Mapped[str]


class OriginalFile(Base):
    """A file of a session as it came."""

    __tablename__ = "original_files"
    session: Mapped[str] = mapped_column(ForeignKey("sessions.id"), primary_key=True)
    path: Mapped[str] = mapped_column(primary_key=True)
    bytes: Mapped[int]
    sha256: Mapped[str]


class Edit(Base):
    """One entry of a session's log of edits, numbered from 1."""

    __tablename__ = "edits"
    session: Mapped[str] = mapped_column(ForeignKey("sessions.id"), primary_key=True)
    number: Mapped[int] = mapped_column(primary_key=True)
    kind: Mapped[str]
    trial: Mapped[str | None]
    own: Mapped[dict[str, Any]]
    by: Mapped[str]
    at: Mapped[str]
    reason: Mapped[str]


class Draft(Base):
    """The draft of a session's reading, as it was last saved."""

    __tablename__ = "drafts"
    session: Mapped[str] = mapped_column(ForeignKey("sessions.id"), primary_key=True)
    decisions: Mapped[dict[str, Any]]
    by: Mapped[str]
    at: Mapped[str]


class Reading(Base):
    """A signed version of a session's reading, numbered from 1."""

    __tablename__ = "readings"
    session: Mapped[str] = mapped_column(ForeignKey("sessions.id"), primary_key=True)
    number: Mapped[int] = mapped_column(primary_key=True)
    record_text: Mapped[str]
    page_html: Mapped[str]
    by: Mapped[str]
    at: Mapped[str]


class Signer(Base):
    """Who may sign: an argon2id hash, and how often it was missed since it was last met."""

    __tablename__ = "signers"
    name: Mapped[str] = mapped_column(primary_key=True)
    folded: Mapped[str] = mapped_column(unique=True)
    hash: Mapped[str]
    added_at: Mapped[str]
    failures: Mapped[int]
    failed_at: Mapped[str | None]


class KeptText(Base):
    """A named text of the clinic; the last one of a kind and name holds, None takes it away."""

    __tablename__ = "kept_texts"
    __table_args__ = (Index(None, "kind", "name", "id"),)
    id: Mapped[int] = mapped_column(primary_key=True)
    kind: Mapped[str]
    name: Mapped[str]
    text: Mapped[str | None]
    by: Mapped[str]
    at: Mapped[str]


class Log(Base):
    """Who did what, when; an entry that reverses another names it, and no two the same."""

    __tablename__ = "log"
    __table_args__ = {"sqlite_autoincrement": True}  # noqa: RUF012 - read by SQLAlchemy
    id: Mapped[int] = mapped_column(primary_key=True)
    at: Mapped[str]
    by: Mapped[str]
    what: Mapped[str]
    text: Mapped[str]
    patient: Mapped[str | None] = mapped_column(ForeignKey("patients.id"), index=True)
    session: Mapped[str | None] = mapped_column(ForeignKey("sessions.id"), index=True)
    detail: Mapped[dict[str, Any]]
    reverses: Mapped[int | None] = mapped_column(ForeignKey("log.id"), unique=True)
