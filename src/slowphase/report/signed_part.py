"""What a report says of its signing: the status of every page, decisions, remarks, provenance."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from slowphase.signing.decisions import SUMMARY, statement_keys
from slowphase.signing.notices import OWN_SUMMARY

if TYPE_CHECKING:
    from slowphase.analysis.result import Analysis
    from slowphase.signing.decisions import Decisions
    from slowphase.signing.signature import Earlier, SignedReading

Context = dict[str, Any]
SAME = "nothing in input, edits, settings, references, software, numbers or the signer's words"
DRAFT = "Draft, not signed"


def status_text(signed: SignedReading | None) -> str:
    """The words that stand on every page."""
    if signed is None:
        return DRAFT
    signature = signed.signature
    return f"Signed by {signature.by} on {signature.at[:10]}, version {signature.version}"


def file_date(analysis: Analysis, signed: SignedReading | None) -> str:
    """The date in the file: of the signing, else of the session; empty where neither is known."""
    if signed is not None:
        return signed.signature.at[:10]
    return analysis.date.isoformat() if analysis.date else ""


def signed_part(signed: SignedReading | None, analysis: Analysis) -> Context | None:
    """What the templates show of a signed reading; None for a draft."""
    if signed is None:
        return None
    signature, replaced = signed.signature, signed.signature.replaces
    return {
        "by": signature.by,
        "at": signature.at,
        "version": signature.version,
        "replaces": replaced.version if replaced else None,
        "replaces_digest": replaced.reading_digest if replaced else None,
        "since": _since(replaced) if replaced else "",
        "digest": signed.reading_digest,
        "changed": _changed(signed, analysis),
    }


def worded_part(decisions: Decisions) -> Context:
    """The signer's own words, of a signed version or of a draft."""
    return {
        "summary": decisions.reworded.get(SUMMARY, ""),
        "remark": [line for line in decisions.remark.splitlines() if line.strip()],
    }


def _since(replaced: Earlier) -> str:
    """What changed since the version before, in words."""
    told = ", ".join(replaced.differs) or SAME
    return f"Changed since version {replaced.version}: {told}"


def _changed(signed: SignedReading, analysis: Analysis) -> str:
    """Which statements the signer changed, in words; empty where none.

    A summary that nobody put into other words may still tell what was left out: that is said.
    """
    decisions = signed.decisions
    titles = dict(
        zip(
            statement_keys(analysis.statements), (s.title for s in analysis.statements), strict=True
        )
    )
    reworded = [titles[key] for key in titles if key in decisions.reworded]
    dropped = [f"{titles[k]} ({decisions.dropped[k]})" for k in titles if k in decisions.dropped]
    told = {"in the signer's words": reworded, "left out by the signer": dropped}
    said = [f"{what}: {', '.join(names)}" for what, names in told.items() if names]
    own = SUMMARY in decisions.reworded
    return "; ".join([*said, *([] if own or not said else [OWN_SUMMARY])])


def decided(statements: list[Context], analysis: Analysis, decisions: Decisions) -> Context:
    """The statements as the signer left them: ``kept`` in order, and ``dropped`` with reasons."""
    keys = statement_keys(analysis.statements)
    kept, dropped = [], []
    for key, shown in zip(keys, statements, strict=True):
        decision = decisions.on(key)
        if decision.kind == "dropped":
            dropped.append({**shown, "reason": decision.text})
        elif decision.kind == "reworded":
            kept.append({**shown, "text": decision.text, "written": shown["text"]})
        else:
            kept.append({**shown, "written": ""})
    return {"kept": kept, "dropped": dropped}
