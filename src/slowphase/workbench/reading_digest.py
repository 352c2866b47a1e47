"""What a signature names: the reading as it is shown now."""

from __future__ import annotations

from typing import TYPE_CHECKING

from slowphase.signing.record import open_record
from slowphase.signing.shown import shown_digest

if TYPE_CHECKING:
    from collections.abc import Sequence

    from slowphase.signing.decisions import Decisions
    from slowphase.signing.record import Record
    from slowphase.store.rows import SignedVersion
    from slowphase.workbench.opened.shown import Shown


def reading_digest(shown: Shown, draft: Decisions, versions: Sequence[SignedVersion]) -> str:
    """The digest of the reading with its draft, and of the version that it would replace."""
    last = last_record(versions)
    return shown_digest(shown.document_digest, draft, last.digest if last else None)


def last_record(versions: Sequence[SignedVersion]) -> Record | None:
    """The record of the last signed version; raises `UsageError` where it was changed."""
    if not versions:
        return None
    return open_record(versions[-1].record_text, f"version {versions[-1].number}")
