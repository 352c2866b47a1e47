"""The command line: it reads, calls the public interface, writes and prints; it computes nothing.

Exit codes: 0 all went well; 1 something of the input could not be used, the rest was analysed;
2 nothing could be used, or the call was wrong; 130 stopped by the user.
"""

from __future__ import annotations

import contextlib
import gc
import io
import os
import sys
from argparse import ArgumentParser, Namespace
from pathlib import Path
from typing import TYPE_CHECKING, Any, NoReturn

from slowphase import __version__
from slowphase.cli.outputs import check_outputs
from slowphase.cli.reference_commands import add_reference_commands
from slowphase.cli.report_options import REPORT_OPTIONS, SOURCE_OPTIONS
from slowphase.cli.serve_command import add_serve_command
from slowphase.cli.signing_commands import add_signing_commands
from slowphase.cli.store_commands import add_store_commands
from slowphase.foundation.errors import InputError, SlowphaseError, UsageError

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from slowphase.course.retest_build import Built

    Command = Callable[[Namespace], int]

PARTLY, UNUSABLE, STOPPED = 1, 2, 130
ABOUT = "From raw rotational-chair and eye traces to a vestibular reading that can be audited."
CAUTION = "Supports licensed clinicians and decides nothing. Not a medical device."


def main(words: Sequence[str] | None = None) -> NoReturn:
    """Run the command line: UTF-8 out, whatever the locale; Ctrl-C ends it with code 130."""
    _prepare_process()
    try:
        code = _run(words)
        sys.stdout.flush()
    except KeyboardInterrupt:
        _complain("stopped")
        code = STOPPED
    except BrokenPipeError:
        _forget_output()
        code = PARTLY
    except OSError as error:
        _forget_output()
        _complain(f"the output cannot be written: {error.strerror or error}")
        code = UNUSABLE
    gc.freeze()  # the memory goes back as a whole: no last search for garbage
    sys.exit(code)


def _prepare_process() -> None:
    """One thread of linear algebra, and few searches for garbage: a command soon ends."""
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    gc.set_threshold(100_000, 50, 100)
    _open_closed_streams()
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(encoding="utf-8", errors="replace")


def _open_closed_streams() -> None:
    """A caller may have closed them; what is said then goes nowhere."""
    if sys.stdout is None:
        sys.stdout = io.StringIO()
    if sys.stderr is None:
        sys.stderr = io.StringIO()


def _forget_output() -> None:
    """Send what is still to be written to nowhere, so that the interpreter can end in peace."""
    with contextlib.suppress(OSError, ValueError):
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, sys.stdout.fileno())


def _run(words: Sequence[str] | None) -> int:
    parser = _parser()
    asked = parser.parse_args(words)
    if asked.command is None:
        parser.print_help()
        return UNUSABLE
    command: Command = asked.command
    try:
        check_outputs(asked)
        return command(asked)
    except InputError as error:
        return _give_up(error, asked)
    except SlowphaseError as error:
        _complain(str(error))
        return UNUSABLE


def _parser() -> ArgumentParser:
    parser = ArgumentParser("slowphase", description=f"{ABOUT} {CAUTION}", allow_abbrev=False)
    parser.add_argument("--version", action="version", version=f"slowphase {__version__}")
    parser.set_defaults(command=None, json=False, output=None)
    add = parser.add_subparsers(title="commands", metavar="COMMAND").add_parser
    for command in (analyze, check, columns, course, demo, explain, reasons, references, simulate):
        text = str(command.__doc__)
        part = add(command.__name__, description=text, help=text, allow_abbrev=False)
        part.set_defaults(command=command)
        for name, options in _ARGUMENTS.get(command.__name__, {}).items():
            names = ("-o", name) if name == "--output" else (name,)
            part.add_argument(*names, **options)
    add_reference_commands(add)
    add_signing_commands(add)
    add_serve_command(add)
    add_store_commands(add)
    return parser


_ARGUMENTS: dict[str, dict[str, dict[str, Any]]] = {
    "analyze": {
        "folder": {"type": Path, "help": "session folder, or its session.toml"},
        "--json": {
            "action": "store_true",
            "help": "print the result document instead of the summary",
        },
        **REPORT_OPTIONS,
        **SOURCE_OPTIONS,
        "--events": {
            "type": Path,
            "metavar": "FILE.json",
            "help": "write quick phases and unused intervals",
        },
        "--output": {
            "type": Path,
            "metavar": "FILE",
            "help": "write what would be printed into a file instead",
        },
    },
    "check": {
        "folder": {"type": Path, "help": "session folder with trials of kind check"},
        "--keep": {
            "type": Path,
            "metavar": "FILE.csv",
            "help": "add the check to the clinic's file, and say what changed since the last",
        },
        "--json": {"action": "store_true", "help": "print the result document instead"},
        "--output": {
            "type": Path,
            "metavar": "FILE",
            "help": "write what would be printed into a file instead",
        },
    },
    "explain": {
        "folder": {"type": Path, "help": "session folder, or its session.toml"},
        "--json": {"action": "store_true", "help": "print the document instead of the text"},
        "--output": {
            "type": Path,
            "metavar": "FILE",
            "help": "write what would be printed into a file instead",
        },
    },
    "references": {"--references": SOURCE_OPTIONS["--references"]},
    "columns": {"file": {"type": Path, "help": "a trace file: .csv .tsv .txt .parquet"}},
    "course": {
        "folders": {"type": Path, "nargs": "+", "metavar": "FOLDER", "help": "session folders"},
        "--events": {"type": Path, "metavar": "FILE.toml", "help": "doses and other events"},
        "--retest": {
            "type": Path,
            "metavar": "FILE.toml",
            "help": "the clinic's own retest variability; without it nothing decides",
        },
        "--between": {
            "type": int,
            "nargs": 2,
            "metavar": ("N", "M"),
            "help": "hold session M against session N, counted by date from 1",
        },
        "--report": {"type": Path, "metavar": "FILE.html", "help": "write the course as one page"},
        "--json": {"action": "store_true", "help": "print the document instead of the summary"},
        "--different-patients": {
            "action": "store_true",
            "help": "go on although the patient codes differ; nothing is then called a change",
        },
        "--build-retest": {
            "action": "store_true",
            "help": "build the clinic's retest file (-o) from two sessions each of stable people",
        },
        "--source": {"metavar": "TEXT", "help": "with --build-retest: whose retests they are"},
        "--output": {
            "type": Path,
            "metavar": "FILE",
            "help": "write what would be printed into a file instead",
        },
    },
    "demo": {
        "--course": {
            "action": "store_true",
            "help": "two invented patients over several sessions instead (about half a minute)",
        },
        "--output": {
            "type": Path,
            "default": Path("demo"),
            "metavar": "FOLDER",
            "help": "folder to write into (demo)",
        },
    },
    "simulate": {
        "scenario": {
            "nargs": "?",
            "metavar": "SCENARIO",
            "help": "a scenario file (.toml), or the name of a shipped one",
        },
        "--list": {"action": "store_true", "help": "list the shipped scenarios"},
        "--output": {
            "type": Path,
            "metavar": "FOLDER",
            "help": "session folder to write (the scenario's name)",
        },
        "--seed": {"type": int, "metavar": "N", "help": "another seed than the scenario's"},
    },
}


def analyze(asked: Namespace) -> int:
    """Analyse one session folder: summary, document, report."""
    from slowphase.cli import report_files, sessions, signing_files, writing

    with sessions.progress_shown() as say:
        analysis = sessions.analyze_folder(
            asked.folder,
            say,
            checks=asked.checks,
            references=asked.references,
            edits=asked.edits,
        )
        state = signing_files.signed_state(asked.folder, analysis)
        report_files.write_reports(analysis, asked, say, earlier=state)
    if state:
        _complain(state)
    if asked.events is not None:
        writing.write_events(analysis, asked.events)
    writing.deliver(analysis, as_json=asked.json, output=asked.output)
    return PARTLY if analysis.problems else 0


def check(asked: Namespace) -> int:
    """Check chair and recorder by a known motion with an artificial eye; keep it with its date."""
    from slowphase.cli import kept_checks, sessions, writing

    with sessions.progress_shown() as say:
        analysis = sessions.analyze_folder(asked.folder, say)
    writing.deliver(analysis, as_json=asked.json, output=asked.output)
    if asked.keep is not None:
        for line in kept_checks.keep(analysis, asked.keep):
            _complain(line)
    return PARTLY if analysis.problems else 0


def columns(asked: Namespace) -> int:
    """Propose a column map for a trace file, as a [columns] table to paste."""
    import slowphase

    _say(slowphase.propose_columns(asked.file).to_toml().rstrip("\n"))
    return 0


def course(asked: Namespace) -> int:
    """Hold sessions of one patient against one another: what changed, and how sure that is."""
    from slowphase.cli import course_files, sessions

    with sessions.progress_shown() as say:
        if asked.build_retest:
            return _report_built(course_files.build_retest_file(asked, say))
        found = course_files.course_of(asked, say)
        if asked.report is not None:
            course_files.write_course_report(found, asked.report)
    course_files.deliver_course(found, as_json=asked.json, output=asked.output)
    return PARTLY if found.problems or any(a.problems for a in found.analyses) else 0


def _report_built(built: Built) -> int:
    for problem in built.problems:
        _complain(f"{problem.code}: {problem.message}")
    pairs, measures = built.retest.n_pairs, len(built.retest.entries)
    _say(f"{pairs} pairs of sessions, {measures} measures")
    if built.left_out:
        _say(f"left out: {'; '.join(built.left_out)}")
    return PARTLY if built.problems else 0


def demo(asked: Namespace) -> int:
    """Make three invented patients, analyse them, and write reports and an index."""
    from slowphase.cli import sessions, writing

    with sessions.progress_shown() as say:
        if asked.course:
            from slowphase.cli.course_files import write_demo_courses

            for page in write_demo_courses(asked.output, say):
                _say(str(page))
            return 0
        page = writing.write_demo(asked.output, say)
    _say(str(page))
    return 0


def explain(asked: Namespace) -> int:
    """Fit one reflex to all trials: do they agree, what would they be without the nystagmus."""
    import slowphase
    from slowphase.cli import sessions, writing

    with sessions.progress_shown() as say:
        analysis = sessions.analyze_folder(asked.folder, say)
        say("fitting", "all trials together")
        reflex = slowphase.explain(analysis)
    writing.deliver_reflex(analysis, reflex, as_json=asked.json, output=asked.output)
    return PARTLY if analysis.problems else 0


def reasons(_asked: Namespace) -> int:
    """List the reasons that a number may carry: code, sentence, what it does to the number."""
    from slowphase.foundation.reasons import reasons as table

    for reason in table().values():
        _say(f"{reason.code} ({reason.grade})\n  {reason.text}\n  {reason.effect}")
    return 0


def references(asked: Namespace) -> int:
    """List the reference values: what they are, who says so, and why some are not used."""
    from slowphase.cli.reference_commands import list_values

    return list_values(asked)


def simulate(asked: Namespace) -> int:
    """Make an invented session from a scenario: raw traces of every trial, and the truth."""
    from slowphase.cli import scenario_files, sessions, simulated_folder

    if asked.list:
        for line in scenario_files.scenario_lines():
            _say(line)
        return 0
    if asked.scenario is None:
        raise UsageError("name a scenario: a .toml file, or one of slowphase simulate --list")
    with sessions.progress_shown() as say:
        folder = simulated_folder.simulate_into(asked.scenario, asked.output, say, seed=asked.seed)
    _say(str(folder))
    return 0


def _say(text: str) -> None:
    sys.stdout.write(f"{text}\n")


def _complain(text: str) -> None:
    sys.stderr.write(f"{text}\n")


def _give_up(error: InputError, asked: Namespace) -> int:
    """Say every problem on its own line; with ``--json`` print a document that holds them too."""
    from slowphase.cli import writing

    for problem in error.problems:
        _complain(f"{problem.code}: {problem.message}")
    if asked.json:
        writing.deliver_failure(error.problems, asked.output)
    return UNUSABLE
