"""What a signer should know of a new version: what changed since the last, and what did not."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING

from slowphase.signing.decisions import SUMMARY
from slowphase.signing.record import differences, signed_words, worded_anew

if TYPE_CHECKING:
    from collections.abc import Iterator

    from slowphase.analysis.result import Analysis
    from slowphase.signing.decisions import Decisions
    from slowphase.signing.record import Record
    from slowphase.signing.signature import Signature

OWN_SUMMARY = "the summary for the referrer is as Slowphase wrote it"


def notices(
    analysis: Analysis, decisions: Decisions, signature: Signature, last: Record | None
) -> Iterator[str]:
    """What changed since ``last``, the version before; what nobody put into other words."""
    if last is not None and signature.replaces is not None:
        measured = differences(last, analysis)
        told = "" if measured else "the same input and software"
        changed = ", ".join(signature.replaces.differs)
        differs = f"differs in: {changed}" if changed else ""
        yield f"since {signed_words(last)}: {'; '.join(part for part in (told, differs) if part)}"
    if (decisions.dropped or decisions.reworded) and SUMMARY not in decisions.reworded:
        yield OWN_SUMMARY
    if analysis.problems:
        yield f"signed with {len(analysis.problems)} problems of the input; the report lists them"


def signed_backwards(at: str, last: Record | None) -> str:
    """What is wrong with a signing before that of the version it replaces; empty if nothing is."""
    if last is None or datetime.fromisoformat(at) >= datetime.fromisoformat(last.signed_at):
        return ""
    return f"the time of signing {at} is before that of version {last.version}, {last.signed_at}"


def earlier_text(last: Record, analysis: Analysis, decisions: Decisions | None = None) -> str:
    """Of a draft: that a signed version exists, and what differs from it now.

    ``decisions`` are those of the draft; without them only the analysis is compared.
    """
    worded = () if decisions is None else worded_anew(last, analysis, decisions)
    changed = (*differences(last, analysis), *worded)
    told = f"This draft differs in: {', '.join(changed)}." if changed else "Nothing differs."
    return f"A signed {signed_words(last)}, exists. {told}"
