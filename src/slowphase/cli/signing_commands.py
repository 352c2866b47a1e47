"""The commands ``slowphase sign`` and ``slowphase signed``."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

from slowphase.cli.report_options import REPORT_OPTIONS, SOURCE_OPTIONS

if TYPE_CHECKING:
    from argparse import Namespace
    from collections.abc import Callable

PARTLY = 1
FOLDER = {"folder": {"type": Path, "help": "session folder, or its session.toml"}}
_ARGUMENTS: dict[str, dict[str, dict[str, Any]]] = {
    "sign": {
        **FOLDER,
        "--by": {"required": True, "metavar": "TEXT", "help": "name and role of the signer"},
        "--at": {"metavar": "TIME", "help": "time of signing with its offset from UTC (now)"},
        "--remark": {"metavar": "TEXT|@FILE", "help": "the signer's own remarks"},
        "--drop": {
            "action": "append",
            "default": [],
            "metavar": "CODE=REASON",
            "help": "leave a statement out, and say why; may be given several times",
        },
        "--reword": {
            "action": "append",
            "default": [],
            "metavar": "CODE=TEXT|@FILE",
            "help": "put a statement, or the summary, into other words; may be given several times",
        },
        **SOURCE_OPTIONS,
        **REPORT_OPTIONS,
    },
    "signed": {
        **FOLDER,
        "--number": {"type": int, "metavar": "N", "help": "the version to write (the last)"},
        **{name: REPORT_OPTIONS[name] for name in ("--report", "--pdf", "--paper")},
    },
}


def add_signing_commands(add: Callable[..., Any]) -> None:
    """Add ``sign`` and ``signed`` to the command line's parser."""
    for command in (sign, signed):
        text = str(command.__doc__)
        part = add(command.__name__, description=text, help=text, allow_abbrev=False)
        part.set_defaults(command=command)
        for name, options in _ARGUMENTS[command.__name__].items():
            part.add_argument(name, **options)


def sign(asked: Namespace) -> int:
    """Freeze the reading of a session as a signed version, beside the session."""
    from slowphase.cli import sessions, signing_files

    with sessions.progress_shown() as say:
        made = signing_files.sign_session(asked, say)
    failed = list(signing_files.hand_out(made, asked))
    for line in (*made.lines, *failed):
        sys.stderr.write(f"{line}\n")
    sys.stdout.write(f"{made.file}\n")
    return PARTLY if failed else 0


def signed(asked: Namespace) -> int:
    """List the signed versions of a session, check that they are whole, write one again."""
    from slowphase.cli import report_files, sessions, signing_files

    versions = signing_files.versions_of(asked.folder)
    for line in signing_files.version_lines(versions):
        sys.stdout.write(f"{line}\n")
    if any(said is not None for said in (asked.number, asked.report, asked.pdf)):
        page = signing_files.page_of(versions, asked.number)
        with sessions.progress_shown() as say:
            report_files.write_asked(page, asked, say)
    return 0
