"""A backup while the store is in use: one folder or .zip, made whole, verified, then named.

The database is copied first, as of one moment; the files of every session in it are in their
place by then, and stay. What can be made again and imports that were not confirmed are left out.
"""

import contextlib
import secrets
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from slowphase.foundation.problem import Problem
from slowphase.recording.report_problem import make_problem
from slowphase.store.backup_parts import Writer, new_backup, open_backup
from slowphase.store.copying import copy_database, open_existing
from slowphase.store.disk import disk_errors_told, make_folder, move, remove_tree
from slowphase.store.errors import StoreError
from slowphase.store.folder import DataFolder
from slowphase.store.intake import Meter, Progress
from slowphase.store.manifest import DATABASE, MANIFEST, manifest_text
from slowphase.store.rows import OriginalFile


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
    part = to.with_name(f".{to.name[:40]}-{secrets.token_hex(4)}.part")
    whole = part / f"whole{to.suffix.lower()}"
    with disk_errors_told(f"backing up to {to}"):
        try:
            make_folder(part)
            made = _write(data, part / DATABASE, whole, at, progress)
            _check_free(to)  # a file that took the name meanwhile would be replaced
            move(whole, to)
        finally:
            remove_tree(part)
    return Backup(to, *made)


def _check_target(data: DataFolder, to: Path) -> None:
    _check_free(to)
    if not to.parent.is_dir():
        raise StoreError(f"there is no folder {to.parent}: expected one that exists")
    if to.resolve().is_relative_to(data.root.resolve()):
        raise StoreError(
            f"{to} lies in the store itself: expected another disk, or a folder beside"
        )
    if not data.database.is_file():
        raise StoreError(f"{data.root} is no store: expected a folder with {DATABASE}")


def _check_free(to: Path) -> None:
    if to.exists() or to.is_symlink():
        raise StoreError(f"{to} exists already: expected a new name; nothing is overwritten")


def _write(
    data: DataFolder, copy: Path, whole: Path, at: str, progress: Progress | None
) -> tuple[int, int, tuple[Problem, ...]]:
    """Write everything and read it again; returns the files, bytes and problems."""
    copy_database(data.database, copy)
    originals = list(_originals(copy))
    total = copy.stat().st_size + sum(file.bytes for file in originals)
    meter = Meter(2 * total, progress, None)
    problems: list[Problem] = []
    with new_backup(whole) as writer:
        written = [writer.add(copy, DATABASE, meter.moved)]
        for file in originals:
            meter.what = file.path
            written += _add_original(writer, data.root, file, problems, meter)
        writer.add_text(MANIFEST, manifest_text(at, written, problems))
    _verify(whole, written, meter)
    return len(written), sum(file.bytes for file in written), tuple(problems)


def _originals(database: Path) -> Iterator[OriginalFile]:
    """Every original file that the copied database names, by its path in the store."""
    query = "SELECT session, path, bytes, sha256 FROM original_files ORDER BY session, path"
    with contextlib.closing(open_existing(database)) as opened:
        for session, path, size, sha256 in opened.execute(query).fetchall():
            yield OriginalFile(f"sessions/{session}/{path}", size, sha256)


def _add_original(
    writer: Writer, root: Path, file: OriginalFile, problems: list[Problem], meter: Meter
) -> list[OriginalFile]:
    """Add one file; one that is damaged is kept as it stands, and named."""
    try:
        added = writer.add(root / file.path, file.path, meter.moved)
    except FileNotFoundError:
        problems.append(_damaged("original_missing", "the file is gone", file))
        return []
    if added != file:
        found = f"{added.bytes} bytes, SHA-256 {added.sha256}"
        changed = f"the file was changed since it came ({found}); the backup has it as it stands"
        problems.append(_damaged("original_changed", changed, file))
    return [added]


def _damaged(code: str, what: str, file: OriginalFile) -> Problem:
    expected = f"{file.bytes} bytes, SHA-256 {file.sha256}"
    remedy = "put the file back from an earlier backup"
    return make_problem(code, what, expected=expected, remedy=remedy, file=file.path)


def _verify(whole: Path, written: list[OriginalFile], meter: Meter) -> None:
    """Read the backup again, from what was written."""
    with open_backup(whole) as opened:
        for file in written:
            meter.what = file.path
            if opened.digest(file.path, meter.moved) != (file.bytes, file.sha256):
                raise StoreError(f"the backup of {file.path} reads differently: the disk may fail")
