"""A backup while the store is in use: one folder or .zip, made whole, verified, then named.

The database is copied first, as of one moment; the files of every session in it are in their
place by then, and stay. What can be made again and imports that were not confirmed are left out.
"""

import contextlib
import json
import secrets
import sqlite3
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from slowphase.foundation.problem import Problem
from slowphase.foundation.version import __version__
from slowphase.recording.report_problem import make_problem
from slowphase.store.backup_parts import FolderWriter, ZipWriter, open_backup
from slowphase.store.copying import copy_database
from slowphase.store.disk import disk_errors_told, make_folder, move, remove_tree
from slowphase.store.errors import StoreError
from slowphase.store.folder import DataFolder
from slowphase.store.intake import Meter, Progress
from slowphase.store.rows import OriginalFile

FORMAT, SCHEMA = "slowphase backup", 1
MANIFEST, DATABASE = "backup.json", "store.sqlite"


@dataclass(frozen=True, slots=True)
class Backup:
    """A backup that was made: where, how much, and what of the originals was damaged already."""

    path: Path
    files: int
    bytes: int
    problems: tuple[Problem, ...]


def backup(data: DataFolder, to: Path, at: str, progress: Progress | None = None) -> Backup:
    """Back a store up into a folder, or a file whose name ends in ``.zip``; raises `StoreError`."""
    _check_target(data, to)
    part = to.with_name(f".{to.name}-{secrets.token_hex(4)}.part")
    with disk_errors_told(f"backing up to {to}"):
        try:
            make_folder(part)
            made, size, problems = _write(data, part, to, at, progress)
            move(made, to)
        finally:
            remove_tree(part)
    return Backup(to, *size, problems)


def _check_target(data: DataFolder, to: Path) -> None:
    if to.exists() or to.is_symlink():
        raise StoreError(f"{to} exists already: expected a new name; nothing is overwritten")
    if not to.parent.is_dir():
        raise StoreError(f"there is no folder {to.parent}: expected one that exists")
    if to.resolve().is_relative_to(data.root.resolve()):
        raise StoreError(
            f"{to} lies in the store itself: expected another disk, or a folder beside"
        )
    if not data.database.is_file():
        raise StoreError(f"{data.root} is no store: expected a folder with {DATABASE}")


def _write(
    data: DataFolder, part: Path, to: Path, at: str, progress: Progress | None
) -> tuple[Path, tuple[int, int], tuple[Problem, ...]]:
    """Write everything under a temporary name and read it again."""
    copy = part / DATABASE
    copy_database(data.database, copy)
    originals = list(_originals(copy))
    total = copy.stat().st_size + sum(file.bytes for file in originals)
    meter = Meter(2 * total, progress, None)
    is_zip = to.suffix.lower() == ".zip"
    writer = ZipWriter(part / "whole.zip") if is_zip else FolderWriter(part / "whole")
    with writer:
        written = [writer.add(copy, DATABASE, meter.moved)]
        problems: list[Problem] = []
        for file in originals:
            meter.what = file.path
            written += _add_original(writer, data.root, file, problems, meter)
        writer.add_text(MANIFEST, _manifest(written, problems, at))
    made = writer.path
    _verify(made, written, meter)
    return made, (len(written), sum(file.bytes for file in written)), tuple(problems)


def _originals(database: Path) -> Iterator[OriginalFile]:
    """Every original file that the copied database names, by its path in the store."""
    query = "SELECT session, path, bytes, sha256 FROM original_files ORDER BY session, path"
    with contextlib.closing(sqlite3.connect(database)) as opened:
        for session, path, size, sha256 in opened.execute(query).fetchall():
            yield OriginalFile(f"sessions/{session}/{path}", size, sha256)


def _add_original(
    writer: FolderWriter | ZipWriter,
    root: Path,
    file: OriginalFile,
    problems: list[Problem],
    meter: Meter,
) -> list[OriginalFile]:
    """Add one file; one that is damaged is kept as it stands, and named."""
    expected = f"{file.bytes} bytes, SHA-256 {file.sha256}"
    try:
        added = writer.add(root / file.path, file.path, meter.moved)
    except FileNotFoundError:
        gone, remedy = "the file is gone", "put it back from an earlier backup"
        problems.append(
            make_problem("original_missing", gone, expected=expected, remedy=remedy, file=file.path)
        )
        return []
    if added != file:
        found = f"{added.bytes} bytes, SHA-256 {added.sha256}"
        remedy = "it is in the backup as it stands; put it back from an earlier one"
        changed = f"the file was changed since it came ({found})"
        problem = make_problem(
            "original_changed", changed, expected=expected, remedy=remedy, found=found,
            file=file.path,
        )  # fmt: skip
        problems.append(problem)
    return [added]


def _manifest(files: list[OriginalFile], problems: list[Problem], at: str) -> str:
    content = {
        "format": FORMAT,
        "schema": SCHEMA,
        "made_at": at,
        "software": __version__,
        "files": [asdict(file) for file in files],
        "problems": [problem.message for problem in problems],
    }
    return json.dumps(content, ensure_ascii=False, indent=1) + "\n"


def _verify(made: Path, written: list[OriginalFile], meter: Meter) -> None:
    """Read the backup again, from the file that was written."""
    with open_backup(made) as opened:
        for file in written:
            meter.what = file.path
            if opened.digest(file.path, meter.moved) != (file.bytes, file.sha256):
                raise StoreError(f"the backup of {file.path} reads differently: the disk may fail")


def read_manifest(opened: Any, name: str) -> list[OriginalFile]:
    """The files that a backup holds; raises `StoreError` for what is no backup."""
    try:
        content = json.loads(opened.text(MANIFEST))
        known = content["format"] == FORMAT and content["schema"] == SCHEMA
        files = [OriginalFile(**entry) for entry in content["files"]] if known else None
    except (OSError, KeyError, TypeError, ValueError, RecursionError) as error:
        raise StoreError(
            f"{name} is no backup of Slowphase: expected one with {MANIFEST}"
        ) from error
    if files is None:
        raise StoreError(
            f"{name} has another form of backup: expected “{FORMAT}”, form {SCHEMA}; "
            "a newer version of Slowphase may have made it"
        )
    return files
