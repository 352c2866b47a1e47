"""Who signed what, when, and which version it replaces."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from slowphase.foundation.errors import UsageError
from slowphase.recording.keys import is_plain
from slowphase.signing.decisions import Decisions

BY_LONGEST = 200


@dataclass(frozen=True, slots=True)
class Earlier:
    """The version that a new one replaces.

    ``digest`` is that of its record, ``reading_digest`` that of its reading, which its paper
    shows; ``differs`` says in words what changed since.
    """

    version: int
    digest: str
    reading_digest: str
    differs: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Signature:
    """``at`` is an ISO 8601 time with its offset from UTC; ``version`` counts from 1."""

    by: str
    at: str
    version: int
    replaces: Earlier | None = None


@dataclass(frozen=True, slots=True)
class SignedReading:
    """A signature with the decisions that it covers, and the digest of the reading."""

    signature: Signature
    decisions: Decisions
    reading_digest: str


def sign_as(by: str, at: str, earlier: Earlier | None = None) -> Signature:
    """A signature of the version after ``earlier``; raises `UsageError` for a bad name or time."""
    name = " ".join(by.split())
    if not name or len(name) > BY_LONGEST or not is_plain(name):
        raise UsageError(
            f"signed by {by!r}: expected a name and a role, such as “A. Meyer, audiologist”, "
            f"of 1 to {BY_LONGEST} characters without control signs"
        )
    version = 1 if earlier is None else earlier.version + 1
    return Signature(name, _checked_time(at), version, earlier)


def _checked_time(at: str) -> str:
    try:
        time = datetime.fromisoformat(at)
    except ValueError as error:
        raise UsageError(f"time of signing {at!r}: expected one such as {EXAMPLE}") from error
    if time.tzinfo is None:
        raise UsageError(f"time of signing {at!r} has no offset from UTC: expected {EXAMPLE}")
    return time.isoformat(timespec="seconds")


EXAMPLE = "2026-03-02T14:05:00+01:00"
