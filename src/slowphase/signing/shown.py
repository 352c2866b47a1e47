"""The digest of a reading as it is shown before it is signed."""

from __future__ import annotations

from typing import TYPE_CHECKING

from slowphase.signing.record import digest_of

if TYPE_CHECKING:
    from slowphase.signing.decisions import Decisions


def shown_digest(document_digest: str, decisions: Decisions, replaces: str | None) -> str:
    """SHA-256 over the document, every decision on it, and the version that it would replace.

    Who signs names it, so that nothing else is signed than what was shown. ``replaces`` is the
    digest of that version's record.
    """
    return digest_of(
        {
            "document": document_digest,
            "reworded": dict(decisions.reworded),
            "dropped": dict(decisions.dropped),
            "remark": decisions.remark,
            "replaces": replaces,
        }
    )
