"""Bringing a session's files in: copied, on the disk, verified, and only then in their place.

Until the folder has its place nothing of it is visible; until its rows are committed it is no
session. A folder whose rows never came is swept back into ``incoming`` when the store is opened.
"""

import os
import stat
import unicodedata
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

from slowphase.recording.report_problem import SESSION_FILE
from slowphase.store.disk import (
    READ_ONLY_FILE,
    copy_file,
    digest_of_file,
    disk_errors_told,
    make_folder,
    move,
    remove_tree,
    sync_folders,
)
from slowphase.store.errors import StoreCancelled, StoreError
from slowphase.store.folder import DataFolder, folders_of_ids
from slowphase.store.rows import OriginalFile
from slowphase.store.told import Told, told_by

PART = ".part-"
FOLDERS_DEEPEST = 50
Progress = Callable[[float, str], None]
Cancelled = Callable[[], bool]


@dataclass(slots=True)
class Meter:
    """Says how much of the work is done (0 to 1), and stops it where the caller asks."""

    total: int
    progress: Progress | None
    cancelled: Cancelled | None
    done: int = 0
    what: str = ""

    def moved(self, count: int) -> None:
        """So many bytes more are done; raises `StoreCancelled`."""
        if self.cancelled is not None and self.cancelled():
            raise StoreCancelled("stopped as asked; nothing was changed")
        self.done += count
        if self.progress is not None:
            self.progress(min(1.0, self.done / max(1, self.total)), self.what)


@dataclass(frozen=True, slots=True)
class TakenIn:
    """Files that were copied and verified, not yet in their place."""

    id: str
    part: Path
    told: Told


def take_in(
    data: DataFolder,
    session: str,
    source: Path,
    progress: Progress | None,
    cancelled: Cancelled | None,
) -> TakenIn:
    """Copy every file of a session folder; leaves nothing after `StoreError` or `InputError`."""
    part = data.incoming / f"{PART}{session}"
    with disk_errors_told(f"bringing in {source.name}"):
        found = list(files_of(source))
        meter = Meter(2 * sum(size for _, size in found), progress, cancelled)
        try:
            make_folder(part)
            files = tuple(_copied(source, path, size, part, meter) for path, size in found)
            sync_folders(part)
            return TakenIn(session, part, told_by(part, files))
        except BaseException:
            remove_tree(part)
            raise


def put_in_place(data: DataFolder, taken: TakenIn) -> Path:
    """Give the copied files their place among the sessions."""
    place = data.sessions / taken.id
    with disk_errors_told("bringing in a session"):
        move(taken.part, place)
    return place


def files_of(source: Path) -> Iterator[tuple[str, int]]:
    """The path (with ``/``) and size of every file; raises `StoreError` for what is no file."""
    if not (source / SESSION_FILE).is_file():
        raise StoreError(f"{source.name} holds no {SESSION_FILE}: expected a session folder")
    seen: dict[str, str] = {}
    for path in _walked(source, ""):
        same = unicodedata.normalize("NFC", path).casefold()
        if same in seen:
            raise StoreError(
                f"{seen[same]} and {path} differ only in case or accents, which some systems take "
                "for one name: rename one of them"
            )
        seen[same] = path
        yield path, (source / path).stat().st_size


def _walked(folder: Path, above: str) -> Iterator[str]:
    """Every regular file below a folder, in the order of names; links are refused, not followed."""
    if above.count("/") > FOLDERS_DEEPEST:
        raise StoreError(f"{above[:40]}… lies more than {FOLDERS_DEEPEST} folders deep")
    for entry in sorted(os.scandir(folder), key=lambda entry: entry.name):
        path = f"{above}{entry.name}"
        mode = entry.stat(follow_symlinks=False).st_mode
        if stat.S_ISDIR(mode):
            yield from _walked(folder / entry.name, f"{path}/")
        elif stat.S_ISREG(mode):
            yield _plain(path)
        else:
            what = "a link" if stat.S_ISLNK(mode) else "no regular file"
            raise StoreError(f"{path} is {what}: put the file itself into the session folder")


def _plain(path: str) -> str:
    try:
        path.encode()
    except UnicodeEncodeError as error:
        raise StoreError(f"{path!r} is no text: expected a file name in UTF-8") from error
    return path


def _copied(source: Path, path: str, size: int, part: Path, meter: Meter) -> OriginalFile:
    """Copy one file and read the copy again."""
    meter.what = path
    target = part / path
    make_folder(target.parent)
    copied, sha256 = copy_file(source / path, target, meter.moved)
    if copied != size:
        raise StoreError(
            f"{path} was changed while it was copied ({size} bytes, then {copied}): "
            "wait until the recorder has written it, and bring it in again"
        )
    if digest_of_file(target, meter.moved) != (size, sha256):
        raise StoreError(f"{path} reads differently from its copy: the disk may be failing")
    target.chmod(READ_ONLY_FILE)
    return OriginalFile(path, size, sha256)


def sweep(data: DataFolder, known: set[str]) -> None:
    """Clear up after a crash: half copies go, folders without rows go back to ``incoming``."""
    with disk_errors_told("clearing up after a crash"):
        for part in list(data.incoming.glob(f"{PART}*")):
            remove_tree(part)
        for path in folders_of_ids(data.sessions):
            if path.name not in known:
                move(path, data.incoming / path.name)
