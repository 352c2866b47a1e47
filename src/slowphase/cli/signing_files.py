"""Signed versions of a session's reading as files: ``readings/v1.json``, ``v1.html``, ``v2…``."""

from __future__ import annotations

import contextlib
import os
import re
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from slowphase.cli.report_files import clinic_of, made_reports
from slowphase.cli.sessions import analyze_folder
from slowphase.cli.writing import write_bytes
from slowphase.foundation.errors import UsageError
from slowphase.signing.decisions import Decisions
from slowphase.signing.notices import OWN_SUMMARY, earlier_text, notices, signed_backwards
from slowphase.signing.record import Record, check_chain, check_page, open_record, signed_words
from slowphase.signing.signature import sign_as

if TYPE_CHECKING:
    from argparse import Namespace
    from collections.abc import Iterable, Iterator

    from slowphase.analysis.result import Analysis
    from slowphase.cli.sessions import Say

READINGS = "readings"
REWORD = {OWN_SUMMARY: f"{OWN_SUMMARY}; --reword summary=TEXT puts it into other words"}
VERSION = re.compile(r"v([1-9]\d*)\.(?:json|html)")


@dataclass(frozen=True, slots=True)
class Versions:
    """The signed versions of a session, whole and in order, and the folder that holds them."""

    folder: Path
    records: tuple[Record, ...]


@dataclass(frozen=True, slots=True)
class Made:
    """A new version: its file, the reports to write of it, and what the signer should know."""

    version: int
    file: Path
    reports: tuple[tuple[str, Path, bytes], ...]
    lines: tuple[str, ...]


def sign_session(asked: Namespace, say: Say) -> Made:
    """Analyse, freeze and write a new version; raises `UsageError` before anything is written.

    The reports of it are made before it is sealed, and written after: none can fail to be made of
    a version that is signed.
    """
    from slowphase.report.signed_version import sign_reading

    versions = versions_of(asked.folder)
    last = versions.records[-1] if versions.records else None
    decisions = decisions_of(asked)
    clinic = clinic_of(asked.clinic)
    at = asked.at or datetime.now().astimezone().isoformat(timespec="seconds")
    signature = sign_as(asked.by, at, last.earlier if last else None)
    backwards = signed_backwards(signature.at, last)
    if backwards and asked.at:
        raise UsageError(f"{backwards}: correct --at")
    analysis = analyze_folder(
        asked.folder,
        say,
        checks=asked.checks,
        references=asked.references,
        edits=asked.edits,
    )
    new = sign_reading(
        analysis,
        decisions,
        signature,
        last,
        clinic=clinic,
        progress=lambda name: say("drawing", name),
    )
    reports = tuple(made_reports(new.page, asked, say))
    file = versions.folder / f"v{signature.version}.json"
    _write_version(file, new.record_text, new.page)
    clock = (f"{backwards}: correct the clock of this computer",) if backwards else ()
    told = notices(analysis, decisions, new.signature, last)
    return Made(
        signature.version, file, reports, (*clock, *(REWORD.get(line, line) for line in told))
    )


def hand_out(made: Made, asked: Namespace) -> Iterator[str]:
    """Write the reports of a signed version; yields a line for each that could not be written."""
    for option, file, data in made.reports:
        try:
            write_bytes(file, data)
        except UsageError as error:
            again = f"slowphase signed {asked.folder} --number {made.version} {option} FILE"
            yield (
                f"version {made.version} is signed; only {option} failed: {error} "
                f"Write it with: {again}"
            )


def decisions_of(asked: Namespace) -> Decisions:
    """What the call says of statements and remarks; ``@FILE`` stands for the text of a file."""
    return Decisions(
        reworded={name: _text(said) for name, said in _pairs(asked.reword, "--reword")},
        dropped=dict(_pairs(asked.drop, "--drop")),
        remark=_text(asked.remark or "").strip(),
    )


def _pairs(given: list[str], option: str) -> list[tuple[str, str]]:
    pairs = []
    for one in given:
        name, sign, text = one.partition("=")
        if not sign:
            raise UsageError(f"{option} {one!r}: expected CODE=TEXT")
        pairs.append((name.strip(), text.strip()))
    names = [name for name, _ in pairs]
    twice = sorted({name for name in names if names.count(name) > 1})
    if twice:
        raise UsageError(f"{option} names {twice[0]} twice")
    return pairs


def _text(said: str) -> str:
    return _read(Path(said[1:])).strip() if said.startswith("@") else said


def versions_of(folder: Path) -> Versions:
    """The signed versions beside a session; raises `UsageError` where one was changed."""
    if not folder.exists():
        raise UsageError(f"there is no session folder {folder}: correct the path")
    readings = (folder.parent if folder.is_file() else folder) / READINGS
    if readings.exists() and not readings.is_dir():
        raise UsageError(
            f"{readings} is a file; a folder of signed versions belongs there: move it"
        )
    numbers = sorted(set(_numbers(readings)))
    files = [readings / f"v{number}.json" for number in numbers]
    records = [_record(file) for file in files if file.exists()]
    check_chain(records)
    for file in files:
        _check_there(file)
    return Versions(readings, tuple(records))


def _check_there(record: Path) -> None:
    """A page whose record is lost keeps its number: it must not be overwritten."""
    if not record.exists():
        raise UsageError(
            f"record missing: {READINGS}/{record.stem}.html is a signed page without its record "
            f"{READINGS}/{record.name}. Put the record back from a copy."
        )


def _numbers(readings: Path) -> Iterable[int]:
    if readings.is_dir():
        for file in readings.iterdir():
            found = VERSION.fullmatch(file.name)
            if found:
                yield int(found[1])


def _record(file: Path) -> Record:
    return open_record(_read(file), f"{READINGS}/{file.name}")


def version_lines(versions: Versions) -> Iterable[str]:
    """Each version in a line with the digest that its paper shows."""
    if not versions.records:
        yield "no signed version"
    for record in versions.records:
        page_of(versions, record.version)
        yield f"{signed_words(record)}\n  digest of the reading {record.reading_digest}"


def page_of(versions: Versions, number: int | None) -> str:
    """The page of a version (the last without a number), checked against its record."""
    known = {record.version: record for record in versions.records}
    wanted = max(known, default=0) if number is None else number
    if wanted not in known:
        raise UsageError(f"version {wanted} does not exist; signed versions: {len(known)}")
    file = versions.folder / f"v{wanted}.html"
    page = _read(file)
    check_page(known[wanted], page, f"{READINGS}/{file.name}")
    return page


def signed_state(folder: Path, analysis: Analysis) -> str:
    """Whether a signed version exists, and what differs from it now; empty without one."""
    try:
        versions = versions_of(folder)
    except UsageError as error:
        return str(error)
    if not versions.records:
        return ""
    return earlier_text(versions.records[-1], analysis)


def _write_version(file: Path, record: str, page: str) -> None:
    """The page under another name, then the record, which must be new, then the page's name."""
    waiting = file.with_name(f".{file.stem}-{os.getpid()}.html")
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
        waiting.write_bytes(page.encode())
        _write_new(file, record.encode())
        waiting.replace(file.with_suffix(".html"))
    except FileExistsError as error:
        raise UsageError(
            f"{file} was signed by someone else in the meantime; look at it"
        ) from error
    except OSError as error:
        reason = error.strerror or type(error).__name__
        raise UsageError(f"{file} cannot be written: {reason}") from error
    finally:
        with contextlib.suppress(OSError):
            waiting.unlink(missing_ok=True)


def _write_new(file: Path, data: bytes) -> None:
    """Write a file that must not exist yet; half a file is taken away again."""
    with file.open("xb") as target:
        try:
            target.write(data)
            target.flush()
            os.fsync(target.fileno())
        except OSError:
            file.unlink(missing_ok=True)
            raise


def _read(file: Path) -> str:
    try:
        return file.read_bytes().decode()
    except (OSError, UnicodeDecodeError) as error:
        reason = getattr(error, "strerror", None) or "no UTF-8 text"
        raise UsageError(f"{file} cannot be read: {reason}") from error
