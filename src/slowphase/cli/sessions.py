"""Reading and analysing a session folder for the command line, with progress where it is seen."""

from __future__ import annotations

import os
import sys
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from slowphase.analysis.result import Analysis

    Say = Callable[[str, str], None]


OWN_SETS = "SLOWPHASE_REFERENCES"


def analyze_folder(
    folder: Path,
    say: Say,
    *,
    checks: Path | None = None,
    references: Path | None = None,
    edits: Path | None = None,
) -> Analysis:
    """Read and analyse one session; raises ``InputError`` when nothing of it can be used.

    ``checks`` is the clinic's file of checks, whose last delay up to the session's day is applied.
    ``references`` are the clinic's own sets; without it those that SLOWPHASE_REFERENCES names.
    Files are parsed outside the interpreter, which loads what measures them meanwhile.
    """
    import slowphase

    with ThreadPoolExecutor(1) as meanwhile:
        meanwhile.submit(import_module, "slowphase.analysis.run")
        session = slowphase.read_session(folder, progress=lambda name: say("reading", name))
    if checks is not None:
        from slowphase.cli.kept_checks import delay_s

        recorder = str(session.conditions.get("recorder", ""))
        session = slowphase.with_eye_delay(session, delay_s(checks, session.date, recorder))
    own = own_sets(references)
    held: dict[str, Any] = {} if own is None else {"references": slowphase.read_references(own)}
    if edits is not None:
        from slowphase.edits.file import read_edits

        held["edits"] = read_edits(edits)
    return slowphase.analyze(session, progress=lambda name: say("measuring", name), **held)


def own_sets(asked: Path | None) -> Path | None:
    """Where the clinic's own sets are: as asked, else as the environment says, else nowhere."""
    told = os.environ.get(OWN_SETS)
    return asked if asked is not None or not told else Path(told)


@contextmanager
def progress_shown() -> Iterator[Say]:
    """A function that shows what is being done, on standard error and only on a terminal."""
    if not sys.stderr.isatty():
        yield lambda _what, _name: None
        return
    from rich.console import Console

    with Console(stderr=True).status("starting") as status:
        yield lambda what, name: status.update(f"{what} {name}")
