"""Patients, their sessions, and the log."""

from typing import Any

from slowphase.workbench.shapes.base import Reasoned, Shape


class GradeCounts(Shape):
    """How many measures of a session carry each grade."""

    sound: int
    caution: int
    unusable: int


class SessionEntry(Shape):
    """A session in a list; ``grade_counts`` is null until it was measured by this version."""

    id: str
    patient: str
    date: str | None
    title: str
    added_at: str
    added_by: str
    demo: bool
    grade_counts: GradeCounts | None
    edits: int
    signed_version: int | None
    draft: bool


class PatientEntry(Shape):
    """A patient with every session, in the order of their dates."""

    id: str
    code: str
    name: str | None
    sex: str
    sessions: list[SessionEntry]


class MergeAsked(Reasoned):
    """Put every session of this patient under another one."""

    into: str


class MoveAsked(Reasoned):
    """Put a session under another patient; under a new one where ``patient`` is null."""

    patient: str | None


class LogEntry(Shape):
    """Who did what and when; ``text`` is the entry in words."""

    id: int
    at: str
    by: str
    what: str
    text: str
    patient: str | None
    session: str | None
    detail: dict[str, Any]
    reversible: bool
    reverses: int | None
    reversed_by: int | None
