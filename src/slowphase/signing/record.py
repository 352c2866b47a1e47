"""The signed record: a reading frozen as plain data, with the digests that tie it to its origin.

Three digests (SHA-256) hold a version together: that of the reading, which people see on paper, in
the list of versions and where the next version says what it replaces; that of the page, which the
PDF is made of; and that of the whole record. The page cannot show the last, which holds the page's
own. The next version's record names the first and the last. They show that nothing changed since;
they do not prove who signed.
"""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from slowphase.foundation.errors import UsageError
from slowphase.signing.decisions import SUMMARY, Decisions, check_decisions, statement_keys
from slowphase.signing.signature import Earlier, Signature, SignedReading

if TYPE_CHECKING:
    from collections.abc import Iterator

    from slowphase.analysis.result import Analysis

SCHEMA = 1
FORMAT = "slowphase signed reading"
WHAT = {
    "version": "software version",
    "input_digest": "input",
    "settings_digest": "settings",
    "edits_digest": "edits",
    "reference_digest": "references",
}
NUMBERS = ("trials", "pairs", "groups")
KEPT = ("patterns", "criteria", "agreements", "incoherences", "cautions")
Json = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Record:
    """A record that was read and found whole: its content, and its own digest."""

    content: Json
    digest: str

    @property
    def version(self) -> int:
        """The number of this version, from 1."""
        return int(self.content["version"])

    @property
    def signed_at(self) -> str:
        """When this version was signed, as ISO 8601 with its offset from UTC."""
        return str(self.content["signed"]["at"])

    @property
    def earlier(self) -> Earlier:
        """This version as the next one names it."""
        return Earlier(self.version, self.digest, self.reading_digest)

    @property
    def reading_digest(self) -> str:
        """The digest that its paper shows."""
        return str(self.content["reading_digest"])


def freeze(analysis: Analysis, decisions: Decisions, signature: Signature) -> Json:
    """The reading with the signer's decisions, and what it was made of; no page yet.

    Raises `UsageError` where a decision does not fit the reading.
    """
    check_decisions(decisions, statement_keys(analysis.statements))
    document = analysis.to_document()
    replaced = signature.replaces
    return {
        "format": FORMAT,
        "schema": SCHEMA,
        "version": signature.version,
        "replaces": None
        if replaced is None
        else {
            "version": replaced.version,
            "digest": replaced.digest,
            "reading_digest": replaced.reading_digest,
            "differs": list(replaced.differs),
        },
        "signed": {"by": signature.by, "at": signature.at},
        "software": document["software"],
        "session": document["session"],
        "document_digest": digest_of(document),
        "numbers_digest": _numbers_digest(document),
        "reading": {
            "summary": document["summary"],
            "signed_summary": decisions.reworded.get(SUMMARY),
            "remark": decisions.remark,
            "statements": list(_statements(analysis, document["statements"], decisions)),
            **{name: document[name] for name in KEPT},
        },
        "problems": document["problems"],
    }


def _statements(analysis: Analysis, told: list[Json], decisions: Decisions) -> Iterator[Json]:
    for key, entry in zip(statement_keys(analysis.statements), told, strict=True):
        decision = decisions.on(key)
        yield {"key": key, "decision": decision.kind, "signed": decision.text, **entry}


def signed_reading(frozen: Json, decisions: Decisions, signature: Signature) -> SignedReading:
    """What the page is told of the signing."""
    return SignedReading(signature, decisions, digest_of(frozen))


def seal(frozen: Json, page: str) -> str:
    """The record as text: the frozen reading, the digest of its page, and its own digest."""
    content = {
        **frozen,
        "reading_digest": digest_of(frozen),
        "page_digest": page_digest(page),
    }
    return _as_text({**content, "digest": digest_of(content)})


def open_record(text: str, name: str) -> Record:
    """A record from its text; raises `UsageError` unless every byte is as it was signed."""
    try:
        content = json.loads(text)
        content_text = _as_text(content)
        content_text.encode()
    except ValueError as error:
        raise UsageError(f"{name} is no signed record: {error}") from error
    except RecursionError as error:
        raise UsageError(f"{name} is no signed record: nested too deeply") from error
    if not isinstance(content, dict) or content.get("format") != FORMAT:
        raise UsageError(f"{name} is no signed record: expected “format”: “{FORMAT}”")
    if content.get("schema") != SCHEMA:
        found = content.get("schema")
        raise UsageError(f"{name} has schema {found!r}; this version of Slowphase reads {SCHEMA}")
    digest = content.get("digest")
    rest = {key: value for key, value in content.items() if key != "digest"}
    if digest != digest_of(rest) or content_text != text:
        raise UsageError(
            f"{name} was changed after it was signed: its digest does not match its content. "
            "Put back the file as it was signed, from a copy."
        )
    return Record(content, str(digest))


def check_page(record: Record, page: str, name: str) -> None:
    """Raise `UsageError` unless a page is the one that was signed."""
    if page_digest(page) != record.content["page_digest"]:
        raise UsageError(
            f"{name} was changed after it was signed: its digest does not match version "
            f"{record.version}. Put back the file as it was signed, from a copy."
        )


def check_chain(records: list[Record]) -> None:
    """Raise `UsageError` unless the versions count from 1 and each names the one before."""
    before: Record | None = None
    for number, record in enumerate(records, start=1):
        if record.version != number or not _follows(record, before):
            raise UsageError(
                f"version {record.version} does not follow on version {number - 1} as it stands: "
                "a signed version was exchanged or is missing"
            )
        before = record


def _follows(record: Record, before: Record | None) -> bool:
    """Whether a record names the one before it; the first names none."""
    named = record.content["replaces"]
    if before is None or named is None:
        return before is None and named is None
    # Records of early versions of Slowphase name no digest of the reading.
    reading = named.get("reading_digest", before.reading_digest)
    told = (named.get("version"), named.get("digest"), reading)
    return told == (before.version, before.digest, before.reading_digest)


def differences(record: Record, analysis: Analysis) -> tuple[str, ...]:
    """What of an analysis differs from what was signed: input, settings, …, numbers, text."""
    signed, now = record.content["software"], analysis.provenance
    document = analysis.to_document()
    found = [words for name, words in WHAT.items() if signed[name] != getattr(now, name)]
    numbers = _numbers_digest(document)
    other = record.content["document_digest"] != digest_of(document)
    # Without a digest of its own (early records) a changed document may have changed numbers.
    if record.content.get("numbers_digest", None if other else numbers) != numbers:
        found.append("numbers")
    return tuple(found or (["text of the reading"] if other else []))


def since(
    record: Record, analysis: Analysis, decisions: Decisions, signature: Signature
) -> Signature:
    """A signature that says what changed since the version that it replaces."""
    if signature.replaces is None:
        return signature
    differs = (*differences(record, analysis), *worded_anew(record, analysis, decisions))
    return replace(signature, replaces=replace(signature.replaces, differs=differs))


def worded_anew(record: Record, analysis: Analysis, decisions: Decisions) -> Iterator[str]:
    """What the signer decided otherwise than in the version before, in words."""
    signed = record.content["reading"]
    before = {
        entry["key"]: (entry["decision"], entry["signed"])
        for entry in signed["statements"]
        if entry["decision"] != "accepted"
    }
    mine = ((key, decisions.on(key)) for key in statement_keys(analysis.statements))
    now = {key: (one.kind, one.text) for key, one in mine if one.kind != "accepted"}
    if before != now:
        yield "statements reworded or left out by the signer"
    if signed["signed_summary"] != decisions.reworded.get(SUMMARY):
        yield "the signer's summary"
    if signed["remark"] != decisions.remark:
        yield "the signer's remark"


def _numbers_digest(document: Json) -> str:
    """The digest of every measure with its place in the references."""
    return digest_of({name: document[name] for name in NUMBERS})


def signed_words(record: Record) -> str:
    """``version 1, signed by A. Meyer, audiologist, on 2026-03-02``."""
    signed = record.content["signed"]
    return f"version {record.version}, signed by {signed['by']} on {signed['at']}"


def digest_of(content: Json) -> str:
    """SHA-256 of plain data, whatever the order of its keys."""
    text = json.dumps(content, sort_keys=True, ensure_ascii=False, allow_nan=False,
                      separators=(",", ":"))  # fmt: skip
    return hashlib.sha256(text.encode()).hexdigest()


def page_digest(page: str) -> str:
    """SHA-256 of a page as it is kept: UTF-8."""
    return hashlib.sha256(page.encode()).hexdigest()


def _as_text(content: Json) -> str:
    return json.dumps(content, ensure_ascii=False, allow_nan=False, indent=1) + "\n"
