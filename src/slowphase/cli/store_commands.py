"""The commands ``slowphase store check``, ``backup``, ``restore`` and ``log``."""

from __future__ import annotations

import sys
from argparse import ArgumentTypeError
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from argparse import Namespace
    from collections.abc import Callable, Iterable, Iterator

    from slowphase.foundation.problem import Problem
    from slowphase.store import LogEntry, Store

PARTLY = 1
DATA = {"data": {"type": Path, "metavar": "DATA", "help": "the store's folder"}}


def _entries(text: str) -> int:
    """How many entries of the log to list."""
    if not text.isdecimal() or int(text) < 1:
        raise ArgumentTypeError(f"{text!r} is no number of entries; expected 1 or more")
    return int(text)


_ARGUMENTS: dict[str, dict[str, dict[str, Any]]] = {
    "check": DATA,
    "backup": {
        **DATA,
        "to": {
            "type": Path,
            "metavar": "TO",
            "help": "a new folder, or a new file whose name ends in .zip",
        },
    },
    "restore": {
        "backup": {"type": Path, "metavar": "BACKUP", "help": "the folder or .zip of a backup"},
        "data": {"type": Path, "metavar": "DATA", "help": "a new or empty folder"},
    },
    "log": {
        **DATA,
        "--patient": {"metavar": "ID", "help": "only what concerns this patient"},
        "--session": {"metavar": "ID", "help": "only what concerns this session"},
        "--limit": {
            "type": _entries,
            "metavar": "N",
            "help": "the newest N entries (all)",
        },
    },
}


def add_store_commands(add: Callable[..., Any]) -> None:
    """Add ``store`` and the commands below it to the command line's parser."""
    text = "The clinic's store: check it, back it up, restore it, read its log."
    part = add("store", description=text, help=text, allow_abbrev=False)
    inner = part.add_subparsers(metavar="COMMAND", required=True).add_parser
    for name, command in (("check", check), ("backup", backup), ("restore", restore), ("log", log)):
        words = str(command.__doc__)
        one = inner(name, description=words, help=words, allow_abbrev=False)
        one.set_defaults(command=command)
        for argument, options in _ARGUMENTS[name].items():
            one.add_argument(argument, **options)


def check(asked: Namespace) -> int:
    """Read the whole store again: database, original files, signed versions."""
    from slowphase.cli import sessions

    with _opened(asked.data) as store, sessions.progress_shown() as say:
        problems = store.check(lambda _share, what: say("checking session", what))
        patients = store.patients()
    count = sum(len(patient.sessions) for patient in patients)
    _complain(problems)
    whole = "everything is as it was confirmed" if not problems else f"{len(problems)} problems"
    _say([f"{len(patients)} patients, {count} sessions: {whole}"])
    return PARTLY if problems else 0


def backup(asked: Namespace) -> int:
    """Back a store up while it is in use; the copy is read again before it gets its name."""
    from slowphase.cli import sessions

    with _opened(asked.data) as store, sessions.progress_shown() as say:
        made = store.backup(asked.to, lambda _share, what: say("backing up", what))
    _complain(made.problems)
    _say([f"{made.path}: {made.files} files, {made.bytes} bytes", CAUTION])
    return PARTLY if made.problems else 0


CAUTION = (
    "A backup holds patient data and is not encrypted: keep it where only the clinic can read."
)


def restore(asked: Namespace) -> int:
    """Make a store of a backup, in a new or empty folder."""
    from slowphase.cli import sessions
    from slowphase.store import restore as restore_backup

    with sessions.progress_shown() as say:
        restore_backup(asked.backup, asked.data, lambda _share, what: say("restoring", what))
    return check(asked)


def log(asked: Namespace) -> int:
    """List who did what, when; the newest first."""
    with _opened(asked.data) as store:
        _say(_lines(store, asked))
    return 0


def _lines(store: Store, asked: Namespace) -> Iterator[str]:
    left, before = asked.limit, None
    while left is None or left > 0:
        count = 1000 if left is None else min(left, 1000)
        entries = store.log(
            patient=asked.patient, session=asked.session, before=before, limit=count
        )
        yield from map(_line, entries)
        if len(entries) < count:
            return
        before, left = entries[-1].id, None if left is None else left - count


def _line(entry: LogEntry) -> str:
    named = {"patient": entry.patient, "session": entry.session}
    told = "".join(f" [{what} {name}]" for what, name in named.items() if name)
    later = f" (reversed by {entry.reversed_by})" if entry.reversed_by else ""
    return f"{entry.id} {entry.at} {entry.by}: {entry.text}{told}{later}"


@contextmanager
def _opened(folder: Path) -> Iterator[Store]:
    """A store to look at, also beside a program that works on it."""
    from slowphase.store import Store

    store = Store.open(folder, read_only=True)
    try:
        yield store
    finally:
        store.close()


def _say(lines: Iterable[str]) -> None:
    for line in lines:
        sys.stdout.write(f"{line}\n")


def _complain(problems: Iterable[Problem]) -> None:
    for problem in problems:
        sys.stderr.write(f"{problem.code}: {problem.message}\n")
