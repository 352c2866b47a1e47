"""Reading and analysing a session folder for the command line, with progress where it is seen."""

from __future__ import annotations

import sys
from contextlib import contextmanager
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

    from slowphase.analysis.result import Analysis

    Say = Callable[[str, str], None]


def analyze_folder(folder: Path, say: Say, *, checks: Path | None = None) -> Analysis:
    """Read and analyse one session; raises ``InputError`` when nothing of it can be used.

    ``checks`` is the clinic's file of checks, whose last delay up to the session's day is applied.
    """
    import slowphase

    session = slowphase.read_session(folder, progress=lambda name: say("reading", name))
    if checks is not None:
        from slowphase.cli.kept_checks import delay_s

        recorder = str(session.conditions.get("recorder", ""))
        session = slowphase.with_eye_delay(session, delay_s(checks, session.date, recorder))
    return slowphase.analyze(session, progress=lambda name: say("measuring", name))


@contextmanager
def progress_shown() -> Iterator[Say]:
    """A function that shows what is being done, on standard error and only on a terminal."""
    if not sys.stderr.isatty():
        yield lambda _what, _name: None
        return
    from rich.console import Console

    with Console(stderr=True).status("starting") as status:
        yield lambda what, name: status.update(f"{what} {name}")
