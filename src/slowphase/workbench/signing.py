"""The reading: its draft, how it would look, and signing what was shown."""

from __future__ import annotations

import threading
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from slowphase.report.page import render_page
from slowphase.report.signed_version import sign_reading as new_version
from slowphase.signing.decisions import Decisions, check_decisions
from slowphase.signing.notices import earlier_text, notices, signed_backwards
from slowphase.signing.record import check_page, open_record
from slowphase.signing.signature import sign_as
from slowphase.workbench.figures import Drawer
from slowphase.workbench.reading_digest import last_record, reading_digest
from slowphase.workbench.refusals import Refusal, not_found
from slowphase.workbench.session_answer import draft_entry, version_entry
from slowphase.workbench.shapes.sessions import (
    DraftAnswer,
    DraftEntry,
    SignAnswer,
    SignerEntry,
    VersionEntry,
)
from slowphase.workbench.trial_answer import not_measured

if TYPE_CHECKING:
    from collections.abc import Sequence

    from slowphase.analysis.result import Analysis
    from slowphase.store.rows import SignedVersion
    from slowphase.workbench.house import House
    from slowphase.workbench.opened.shown import Shown as ShownSession
    from slowphase.workbench.shapes.sessions import DraftAsked, SignAsked, SignerAsked

SIGNING = threading.Lock()  # one version at a time


@dataclass(frozen=True, slots=True)
class Shown:
    """A report's page, and the digest of the reading on it."""

    page: str
    reading_digest: str


def save_draft(here: House, session: str, asked: DraftAsked) -> DraftAnswer:
    """Keep the decisions so far; raises `UsageError` where one fits no statement."""
    decisions = Decisions(dict(asked.reworded), dict(asked.dropped), asked.remark)
    shown = _shown(here, session)
    check_decisions(decisions, shown.statement_keys)
    here.store.save_draft(session, decisions, by=asked.by)
    draft = here.store.draft(session)
    return DraftAnswer(
        draft=DraftEntry(**draft_entry(draft)),
        reading_digest=reading_digest(shown, draft, here.store.versions(session)),
    )


def report_page(here: House, session: str, version: int | None) -> Shown:
    """The draft as it stands, or a signed version as it was signed."""
    if version is None:
        return _draft_page(here, session)
    found = [one for one in here.store.versions(session) if one.number == version]
    if not found:
        raise not_found("signed version", str(version))
    record = open_record(found[0].record_text, f"version {version}")
    check_page(record, found[0].page_html, f"the page of version {version}")
    return Shown(found[0].page_html, record.reading_digest)


def _draft_page(here: House, session: str) -> Shown:
    reading = _read(here, session)
    last = last_record(reading.versions)
    earlier = earlier_text(last, reading.analysis, reading.draft) if last else ""
    page = render_page(reading.analysis, draft=reading.draft, earlier=earlier, drawn=reading.drawer)
    return Shown(page, reading.digest)


def report_pdf(shown: Shown, paper: Literal["a4", "letter"]) -> bytes:
    """The same page as PDF."""
    from slowphase.report.pdf.typeset import typeset

    return typeset(shown.page, paper=paper)


def sign_reading(here: House, session: str, asked: SignAsked) -> SignAnswer:
    """Sign what was shown, and nothing else."""
    here.store.session(session)
    if not here.store.check_passphrase(asked.by, asked.passphrase):
        raise Refusal(403, "wrong_passphrase", f"The passphrase is not that of {asked.by}.")
    with SIGNING:
        reading = _read(here, session)
        if reading.digest != asked.expected_digest:
            raise Refusal(
                409, "reading_changed", "The reading is not the one that was shown; look again.",
                found=reading.digest, expected=asked.expected_digest,
            )  # fmt: skip
        return _signed(here, session, reading, asked.by)


def _signed(here: House, session: str, reading: _Reading, by: str) -> SignAnswer:
    last = last_record(reading.versions)
    signature = sign_as(by, here.store.clock(), last.earlier if last else None)
    backwards = signed_backwards(signature.at, last)
    new = new_version(reading.analysis, reading.draft, signature, last, drawn=reading.drawer)
    kept = here.store.keep_version(session, new.record_text, new.page, by=by)
    clock = (f"{backwards}: correct the clock of this computer",) if backwards else ()
    told = notices(reading.analysis, reading.draft, new.signature, last)
    return SignAnswer(version=VersionEntry(**version_entry(kept)), notices=[*clock, *told])


@dataclass(frozen=True, slots=True)
class _Reading:
    """What would be signed now."""

    analysis: Analysis
    draft: Decisions
    versions: Sequence[SignedVersion]
    digest: str
    drawer: Drawer


def _read(here: House, session: str) -> _Reading:
    wanted, opened = here.room.wanted(session), here.room.open(session)
    here.room.make_room(opened, wanted)
    analysis = opened.analysis(wanted, lambda _what, _share: None)
    shown = opened.shown(wanted.key)
    if shown is None:
        raise not_measured(here, session)
    draft, versions = here.store.draft(session), here.store.versions(session)
    digest, drawer = reading_digest(shown, draft, versions), Drawer(opened.kept, wanted.key)
    return _Reading(analysis, draft, versions, digest, drawer)


def _shown(here: House, session: str) -> ShownSession:
    shown = here.room.open(session).shown(here.room.wanted(session).key)
    if shown is None:
        raise not_measured(here, session)
    return shown


def signer_entries(here: House) -> list[SignerEntry]:
    """Everyone who may sign."""
    return [SignerEntry(name=one.name, added_at=one.added_at) for one in here.store.signers()]


def new_signer(here: House, asked: SignerAsked) -> SignerEntry:
    """Let a person sign; raises `StoreConflict` where the name is taken."""
    signer = here.store.add_signer(asked.name, asked.passphrase)
    return SignerEntry(name=signer.name, added_at=signer.added_at)
