"""What the command line writes: summaries, documents, reports, the demo."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

from slowphase.foundation.errors import UsageError
from slowphase.foundation.whole_file import write_whole_file

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from rich.console import RenderableType

    from slowphase.analysis.result import Analysis
    from slowphase.cli.sessions import Say
    from slowphase.fit.result import SessionReflex
    from slowphase.foundation.problem import Problem
    from slowphase.report.index import IndexEntry

WIDTH = 80


def deliver(analysis: Analysis, *, as_json: bool, output: Path | None) -> None:
    """Print the summary or the document, or write it to a file."""
    if as_json:
        put(analysis.to_json(), output)
    elif output is None:
        from slowphase.report.terminal import terminal_view

        show(terminal_view(analysis))
    else:
        put(summary_text(analysis), output)


def deliver_reflex(
    analysis: Analysis, reflex: SessionReflex | None, *, as_json: bool, output: Path | None
) -> None:
    """Print one explanation of a session, or its document, or write it to a file."""
    from slowphase.analysis.document import to_json
    from slowphase.analysis.reflex_document import reflex_document
    from slowphase.report.reflex.terminal import reflex_view

    if as_json:
        put(to_json(reflex_document(analysis, reflex)), output)
    elif output is None:
        show(reflex_view(analysis, reflex))
    else:
        put(as_text(reflex_view(analysis, reflex)), output)


def deliver_failure(problems: Sequence[Problem], output: Path | None) -> None:
    """The document of input that could not be used."""
    from slowphase import __version__
    from slowphase.analysis.document import failure_document, to_json

    put(to_json(failure_document(problems, __version__)), output)


def summary_text(analysis: Analysis) -> str:
    """The summary as plain text, 80 columns wide."""
    from slowphase.report.terminal import terminal_view

    return as_text(terminal_view(analysis))


def as_text(view: RenderableType) -> str:
    """A view as plain text, 80 columns wide."""
    from rich.console import Console

    console = Console(width=WIDTH, color_system=None, record=False, force_terminal=False)
    with console.capture() as captured:
        console.print(view)
    return "\n".join(line.rstrip() for line in captured.get().splitlines()) + "\n"


def write_report(analysis: Analysis, file: Path, say: Say) -> None:
    """Write the report page."""
    from slowphase.report.page import render_page

    page = render_page(analysis, progress=lambda name: say("drawing", name))
    write_text(file, page)


def write_events(analysis: Analysis, file: Path) -> None:
    """Write the side file of quick phases and unused intervals."""
    from slowphase.analysis.document import to_json

    write_text(file, to_json(analysis.events_document()))


def write_demo(folder: Path, say: Say) -> Path:
    """Write the invented sessions, their reports and documents, and an index; returns the index."""
    from slowphase.cli.demo_sessions import write_demo_sessions
    from slowphase.report.index import render_index

    say("making", "invented patients")
    sessions = write_demo_sessions(folder)
    entries = tuple(_write_demo_report(folder, session, say) for session in sessions)
    page = folder / "index.html"
    write_text(page, render_index("Three invented patients", entries))
    return page


def _write_demo_report(folder: Path, session: Path, say: Say) -> IndexEntry:
    from slowphase.cli.sessions import analyze_folder
    from slowphase.report.index import IndexEntry

    analysis = analyze_folder(session, say)
    write_report(analysis, folder / f"{session.name}.html", say)
    write_text(folder / f"{session.name}.json", analysis.to_json())
    name = session.name
    return IndexEntry(
        href=f"{name}.html",
        title=f"{analysis.patient.code}: {analysis.notes.get('indication', name)}",
        found=_findings(analysis, "holds"),
        not_found=_findings(analysis, "does_not_hold"),
        cannot_tell=_findings(analysis, "cannot_tell"),
        files=(("session folder", f"{name}/session.toml"), ("result document", f"{name}.json")),
    )


def _findings(analysis: Analysis, verdict: str) -> tuple[str, ...]:
    """What was looked for and came out so, each once."""
    found = (s.finding for s in analysis.statements if s.verdict == verdict)
    return tuple(dict.fromkeys(found))


def show(view: RenderableType) -> None:
    """On a screen with colour and its width; elsewhere as plain text."""
    if not sys.stdout.isatty():
        sys.stdout.write(as_text(view))
        return
    from rich.console import Console

    Console().print(view)


def put(text: str, output: Path | None) -> None:
    """Print a text, or write it to a file."""
    if output is None:
        sys.stdout.write(text)
    else:
        write_text(output, text)


def write_text(file: Path, text: str) -> None:
    """Write a text file with its folders; raises `UsageError` where that cannot be."""
    write_bytes(file, text.encode())


def write_bytes(file: Path, data: bytes) -> None:
    """Write a file with its folders; raises `UsageError` where that cannot be."""
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
        write_whole_file(file, data)
    except OSError as error:
        reason = error.strerror or type(error).__name__
        raise UsageError(f"{file} cannot be written: {reason}. Name another file.") from error
