"""What a signature names: the reading as it is shown now."""

from __future__ import annotations

from typing import TYPE_CHECKING

from slowphase.signing.decisions import SUMMARY
from slowphase.signing.record import open_record
from slowphase.signing.shown import shown_digest

if TYPE_CHECKING:
    from collections.abc import Sequence

    from slowphase.signing.decisions import Decisions
    from slowphase.signing.record import Record
    from slowphase.store.rows import SignedVersion
    from slowphase.workbench.opened.shown import Shown

    Decided = tuple[list[tuple[str, str, str]], str | None, str]


def reading_digest(shown: Shown, draft: Decisions, versions: Sequence[SignedVersion]) -> str:
    """The digest of the reading with its draft, and of the version that it would replace."""
    last = last_record(versions)
    return shown_digest(shown.document_digest, draft, last.digest if last else None)


def signed_as_shown(
    shown: Shown, draft: Decisions, versions: Sequence[SignedVersion]
) -> int | None:
    """The number of the last version where it holds just this reading with just this draft."""
    last = last_record(versions)
    if last is None or last.content["document_digest"] != shown.document_digest:
        return None
    return last.version if _decisions(last) == _decided(shown, draft) else None


def _decisions(record: Record) -> Decided:
    reading = record.content["reading"]
    statements = [(one["key"], one["decision"], one["signed"]) for one in reading["statements"]]
    return statements, reading["signed_summary"], reading["remark"]


def _decided(shown: Shown, draft: Decisions) -> Decided:
    decided = [(key, draft.on(key)) for key in shown.statement_keys]
    statements = [(key, str(decision.kind), decision.text) for key, decision in decided]
    return statements, draft.reworded.get(SUMMARY), draft.remark


def last_record(versions: Sequence[SignedVersion]) -> Record | None:
    """The record of the last signed version; raises `UsageError` where it was changed."""
    if not versions:
        return None
    return open_record(versions[-1].record_text, f"version {versions[-1].number}")
