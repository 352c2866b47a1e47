"""Writing reports as HTML and PDF, and reading the clinic's head of a report."""

from __future__ import annotations

import tomllib
from dataclasses import replace
from typing import TYPE_CHECKING

from slowphase.cli.writing import write_bytes
from slowphase.foundation.errors import UsageError

if TYPE_CHECKING:
    from argparse import Namespace
    from collections.abc import Iterator
    from pathlib import Path

    from slowphase.analysis.result import Analysis
    from slowphase.cli.sessions import Say
    from slowphase.report.clinic import Clinic


def write_reports(analysis: Analysis, asked: Namespace, say: Say, *, earlier: str) -> None:
    """Write the draft of a report as HTML, as PDF, or as both, where the call asks for it."""
    from slowphase.report.page import render_page

    clinic = clinic_of(asked.clinic)
    if asked.report is None and asked.pdf is None:
        return
    page = render_page(
        analysis, clinic=clinic, earlier=earlier, progress=lambda name: say("drawing", name)
    )
    write_asked(page, asked, say)


def write_asked(page: str, asked: Namespace, say: Say) -> None:
    """Write a page, and the PDF made of it, where the call asks for them."""
    for _option, file, data in made_reports(page, asked, say):
        write_bytes(file, data)


def made_reports(page: str, asked: Namespace, say: Say) -> Iterator[tuple[str, Path, bytes]]:
    """Each report that the call asks for: its option, its file and its content."""
    if asked.report is not None:
        yield "--report", asked.report, page.encode()
    if asked.pdf is not None:
        from slowphase.report.pdf.typeset import typeset

        say("typesetting", asked.pdf.name)
        yield "--pdf", asked.pdf, typeset(page, paper=asked.paper)


def clinic_of(file: Path | None) -> Clinic | None:
    """The clinic that a file describes; None without a file. Raises `UsageError` naming it."""
    if file is None:
        return None
    from slowphase.report.clinic import clinic_from, logo_from

    table = _toml(file)
    clinic = clinic_from(table, file.name)
    logo = table.get("logo")
    if logo is None:
        return clinic
    if not isinstance(logo, str):
        raise UsageError(f"{file.name}: logo is {logo!r}; expected the name of a picture file")
    return replace(clinic, logo=logo_from(logo, _bytes(file.parent / logo)))


def _toml(file: Path) -> dict[str, object]:
    try:
        return tomllib.loads(_bytes(file).decode("utf-8-sig"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise UsageError(f"{file}: no valid TOML ({error}); expected name = “…”") from error


def _bytes(file: Path) -> bytes:
    try:
        return file.read_bytes()
    except OSError as error:
        reason = error.strerror or type(error).__name__
        raise UsageError(f"{file} cannot be read: {reason}") from error
