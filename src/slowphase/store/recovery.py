"""A store from a backup: into a new or empty folder, every file held against its digest."""

import json
import secrets
from pathlib import Path, PurePosixPath

from slowphase.store.backup_parts import Reader, open_backup
from slowphase.store.change import now_iso
from slowphase.store.copying import check_database
from slowphase.store.disk import (
    READ_ONLY_FILE,
    disk_errors_told,
    make_folder,
    move,
    remove_tree,
    sync_folders,
    write_new_file,
)
from slowphase.store.errors import StoreError
from slowphase.store.folder import DataFolder
from slowphase.store.intake import Meter, Progress
from slowphase.store.manifest import DATABASE, Manifest, read_manifest
from slowphase.store.rows import OriginalFile

REMEDY = "expected a whole backup; take another one"


def restore(backup: Path, folder: Path, progress: Progress | None = None) -> Path:
    """Make a store of a backup; raises `StoreError`, and leaves the folder as it was."""
    _check_places(backup, folder)
    part = folder.with_name(f".{folder.name[:40]}-{secrets.token_hex(4)}.part")
    with disk_errors_told(f"restoring {backup.name}"):
        try:
            make_folder(part)
            _fill(backup, part, progress)
            if folder.is_dir():
                folder.rmdir()
            move(part, folder)
        finally:
            remove_tree(part)
    return folder


def _check_places(backup: Path, folder: Path) -> None:
    if not backup.exists():
        raise StoreError(f"there is no backup {backup}: correct the path")
    if folder.is_symlink() or (folder.exists() and not folder.is_dir()):
        raise StoreError(f"{folder} is no folder: expected a new or empty one")
    if folder.is_dir() and any(folder.iterdir()):
        raise StoreError(
            f"{folder} is not empty: expected a new or empty folder; nothing is overwritten"
        )


def _fill(backup: Path, part: Path, progress: Progress | None) -> None:
    with open_backup(backup) as opened:
        manifest = read_manifest(opened, backup.name)
        for file in manifest.files:
            _check_name(file.path, backup.name)
        meter = Meter(sum(file.bytes for file in manifest.files), progress, None)
        for file in manifest.files:
            meter.what = file.path
            _take(opened, file, part, meter, backup.name)
    check_database(part / DATABASE)
    _leave_note(part, backup, manifest)
    sync_folders(part)


def _take(opened: Reader, file: OriginalFile, part: Path, meter: Meter, name: str) -> None:
    """Copy one file out of the backup; raises `StoreError` unless it is the one of the digest."""
    target = part / file.path
    make_folder(target.parent)
    try:
        taken = opened.take(file.path, target, meter.moved)
    except (KeyError, FileNotFoundError) as error:
        raise StoreError(f"{name} lacks {file.path}: {REMEDY}") from error
    if taken != (file.bytes, file.sha256):
        raise StoreError(
            f"{file.path} in {name} is damaged ({taken[0]} bytes, SHA-256 {taken[1]}; the backup "
            f"was made with {file.bytes} bytes, {file.sha256}): {REMEDY}"
        )
    if file.path != DATABASE:
        target.chmod(READ_ONLY_FILE)


def _leave_note(part: Path, backup: Path, manifest: Manifest) -> None:
    """The store enters this into its log when it is opened."""
    note = {"backup": backup.name, "made_at": manifest.made_at, "restored_at": now_iso()}
    write_new_file(DataFolder(part).restored, json.dumps(note, ensure_ascii=False).encode())


def _check_name(name: str, backup: str) -> None:
    """Only the database and files of sessions, never a path that leads elsewhere."""
    path = PurePosixPath(name)
    parts = path.parts
    strange = path.is_absolute() or ".." in parts or set(name) & {"\\", "\0"}
    in_session = len(parts) >= 3 and parts[0] == "sessions" and str(path) == name
    if strange or not (name == DATABASE or in_session):
        raise StoreError(f"{backup} names {name[:80]!r}, which no backup holds: {REMEDY}")
