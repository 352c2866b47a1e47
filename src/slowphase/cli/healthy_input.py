"""Healthy people's sessions and tables for ``slowphase reference``."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from slowphase.foundation.errors import InputError, UsageError
from slowphase.reference.intervals.healthy import HealthySession, healthy_session
from slowphase.reference.intervals.table import read_table
from slowphase.reference.library import read_references
from slowphase.reference.sets import ReferenceEntry, reference_sets

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from slowphase.cli.sessions import Say

TABLES = (".csv", ".parquet")
SESSION = "session.toml"


def read_inputs(inputs: Sequence[Path], say: Say) -> tuple[list[HealthySession], list[str]]:
    """Every healthy session, and a line for each folder that could not be used.

    Raises `UsageError` when an input is neither a session, a folder of them nor a table, or when
    nothing could be used.
    """
    found: list[HealthySession] = []
    problems: list[str] = []
    for path in inputs:
        if path.suffix.lower() in TABLES:
            found += read_table(path)
            continue
        for folder in session_folders(path):
            try:
                found.append(_analyzed(folder, say))
            except InputError as error:
                problems += [f"{folder}: {p.code}: {p.message}" for p in error.problems]
    if not found:
        raise UsageError("\n".join([*problems, "no healthy session could be used"]))
    return found, problems


def read_entries(name: str) -> tuple[ReferenceEntry, ...]:
    """The entries of a set's file, or of a shipped set by its id."""
    path = Path(name)
    if path.suffix == ".toml":
        shipped = {entry.set for entry in reference_sets()}
        return tuple(e for e in read_references(path).entries if e.set not in shipped)
    entries = tuple(entry for entry in reference_sets() if entry.set == name)
    if not entries:
        known = ", ".join(dict.fromkeys(entry.set for entry in reference_sets()))
        raise UsageError(f"there is no set {name!r}; name a file SET.toml or one of {known}")
    return entries


def session_folders(path: Path) -> Iterator[Path]:
    """The folder itself when it is a session, else every session below it, by name."""
    if path.name == SESSION or (path / SESSION).is_file():
        yield path
        return
    below = sorted(file.parent for file in path.rglob(SESSION)) if path.is_dir() else []
    if not below:
        raise UsageError(
            f"{path} is no session folder, no folder of them, and no table ({', '.join(TABLES)})"
        )
    yield from below


def _analyzed(folder: Path, say: Say) -> HealthySession:
    from slowphase.cli.sessions import analyze_folder

    analysis = analyze_folder(folder, lambda what, name: say(what, f"{folder.name} {name}"))
    return healthy_session(
        analysis.trials, analysis.pairs, analysis.groups, analysis.patient,
        day=analysis.date, conditions=analysis.conditions,
    )  # fmt: skip
