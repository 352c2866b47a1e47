"""The command line: it reads, calls the public interface, writes and prints; it computes nothing.

Exit codes: 0 all went well; 1 something of the input could not be used, the rest was analysed;
2 nothing could be used, or the call was wrong; 130 stopped by the user.
"""

from __future__ import annotations

import contextlib
import io
import os
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, NoReturn

import typer

if TYPE_CHECKING:
    from slowphase.analysis.result import Analysis
    from slowphase.foundation.errors import InputError, UsageError

PARTLY, UNUSABLE, STOPPED = 1, 2, 130

app = typer.Typer(
    name="slowphase",
    help="From raw rotational-chair and eye traces to a vestibular reading that can be audited.\n\n"
    "Supports licensed clinicians and decides nothing. Not a medical device.",
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    no_args_is_help=True,
)


def main() -> None:
    """Run the command line: UTF-8 out, whatever the locale; Ctrl-C ends it with code 130."""
    _open_closed_streams()
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(encoding="utf-8", errors="replace")
    try:
        app()
    except KeyboardInterrupt:
        typer.echo("stopped", err=True)
        sys.exit(STOPPED)
    except OSError as error:
        _forget_output()
        typer.echo(f"the output cannot be written: {error.strerror or error}", err=True)
        sys.exit(UNUSABLE)


def _forget_output() -> None:
    """Send what is still to be written to nowhere, so that the interpreter can end in peace."""
    with contextlib.suppress(OSError, ValueError):
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, sys.stdout.fileno())


def _open_closed_streams() -> None:
    """A caller may have closed them; what is said then goes nowhere."""
    if sys.stdout is None:
        sys.stdout = io.StringIO()
    if sys.stderr is None:
        sys.stderr = io.StringIO()


def _show_version(wanted: bool) -> None:
    if wanted:
        from slowphase import __version__

        typer.echo(f"slowphase {__version__}")
        raise typer.Exit


@app.callback()
def _options(
    version: Annotated[
        bool, typer.Option("--version", callback=_show_version, is_eager=True, help="Show it.")
    ] = False,
) -> None:
    del version


@app.command()
def analyze(
    folder: Annotated[Path, typer.Argument(help="Session folder, or its session.toml.")],
    json: Annotated[
        bool, typer.Option("--json", help="Print the result document instead of the summary.")
    ] = False,
    report: Annotated[
        Path | None, typer.Option(metavar="FILE.html", help="Write the report as one page.")
    ] = None,
    events: Annotated[
        Path | None,
        typer.Option(metavar="FILE.json", help="Write quick phases and unused intervals."),
    ] = None,
    output: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="Write what would be printed into a file instead."),
    ] = None,
) -> None:
    """Analyse one session folder: summary, document, report."""
    from slowphase.cli import sessions, writing
    from slowphase.foundation.errors import InputError, UsageError

    try:
        with sessions.progress_shown() as say:
            analysis = sessions.analyze_folder(folder, say)
            if report is not None:
                writing.write_report(analysis, report, say)
        if events is not None:
            writing.write_events(analysis, events)
        writing.deliver(analysis, as_json=json, output=output)
    except InputError as error:
        _give_up(error, json, output)
    except UsageError as error:
        _say_usage(error)
    raise typer.Exit(_code(analysis))


@app.command()
def columns(
    file: Annotated[Path, typer.Argument(help="A trace file: .csv .tsv .txt .parquet")],
) -> None:
    """Propose a column map for a trace file, as a [columns] table to paste."""
    import slowphase
    from slowphase.foundation.errors import InputError

    try:
        proposal = slowphase.propose_columns(file)
    except InputError as error:
        _give_up(error, as_json=False, output=None)
    typer.echo(proposal.to_toml().rstrip("\n"))


@app.command()
def demo(
    output: Annotated[Path, typer.Option(help="Folder to write into.")] = Path("demo"),
) -> None:
    """Make three invented patients, analyse them, and write reports and an index."""
    from slowphase.cli import sessions, writing
    from slowphase.foundation.errors import UsageError

    try:
        with sessions.progress_shown() as say:
            page = writing.write_demo(output, say)
    except UsageError as error:
        _say_usage(error)
    typer.echo(page)


@app.command()
def reasons() -> None:
    """List the reasons that a number may carry: code, sentence, what it does to the number."""
    from slowphase.foundation.reasons import reasons as table

    for reason in table().values():
        typer.echo(f"{reason.code} ({reason.grade})\n  {reason.text}\n  {reason.effect}")


@app.command()
def references() -> None:
    """List the reference values: what they are, who says so, and why some are not used."""
    from slowphase.cli import writing

    for line in writing.reference_lines():
        typer.echo(line)


def _code(analysis: Analysis) -> int:
    return PARTLY if analysis.problems else 0


def _say_usage(error: UsageError) -> NoReturn:
    typer.echo(error, err=True)
    raise typer.Exit(UNUSABLE)


def _give_up(error: InputError, as_json: bool, output: Path | None) -> NoReturn:
    """Say every problem on its own line; with ``--json`` print a document that holds them too."""
    from slowphase.cli import writing

    for problem in error.problems:
        typer.echo(f"{problem.code}: {problem.message}", err=True)
    if as_json:
        writing.deliver_failure(error.problems, output)
    raise typer.Exit(UNUSABLE)
