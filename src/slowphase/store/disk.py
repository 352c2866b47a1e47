"""Steps on the disk that survive a loss of power: nothing counts as done before it is on the disk.

Where a system cannot sync a folder (Windows), its own journal keeps the order of names.
"""

import contextlib
import errno
import hashlib
import os
import shutil
import stat
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

from slowphase.store.errors import StoreError

PRIVATE_FOLDER, PRIVATE_FILE, READ_ONLY_FILE = 0o700, 0o600, 0o400
CHUNK_BYTES = 1 << 20
Moved = Callable[[int], None]


def make_folder(folder: Path) -> None:
    """A folder for its owner alone, with those above it; one that is there is left as it is."""
    if folder.is_dir():
        return
    if not folder.parent.is_dir():
        make_folder(folder.parent)
    with contextlib.suppress(FileExistsError):
        os.mkdir(folder, PRIVATE_FOLDER)
    sync_folder(folder.parent)


def sync_file(number: int) -> None:
    """What was written to an open file is on the disk, past the drive's own cache on macOS."""
    if sys.platform == "darwin":
        import fcntl

        with contextlib.suppress(OSError):  # a disk that knows no such call is synced as elsewhere
            fcntl.fcntl(number, fcntl.F_FULLFSYNC)
            return
    os.fsync(number)


def sync_folder(folder: Path) -> None:
    """The names in a folder are on the disk, where its file system can be asked for that."""
    if os.name == "nt":
        return
    number = os.open(folder, os.O_RDONLY)
    try:
        sync_file(number)
    except OSError as error:
        if error.errno not in (errno.EINVAL, errno.ENOTSUP):
            raise
    finally:
        os.close(number)


def sync_folders(folder: Path) -> None:
    """The names in a folder and in all below it are on the disk."""
    for below in [*(path for path in folder.rglob("*") if path.is_dir()), folder]:
        sync_folder(below)


def copy_file(source: Path, target: Path, moved: Moved = lambda _bytes: None) -> tuple[int, str]:
    """Copy into a file that must not exist; returns its size and the SHA-256 of what was read."""
    digest, size = hashlib.sha256(), 0
    with open_regular(source) as read, open_new(target) as written:
        while chunk := os.read(read, CHUNK_BYTES):
            digest.update(chunk)
            write_all(written, chunk)
            size += len(chunk)
            moved(len(chunk))
        sync_file(written)
    return size, digest.hexdigest()


@contextlib.contextmanager
def open_regular(file: Path) -> Iterator[int]:
    """A regular file, never a link, pipe or device, open for reading."""
    flags = os.O_RDONLY | getattr(os, "O_BINARY", 0)
    # A link that took the file's place meanwhile leads nowhere, and no pipe is waited for.
    number = os.open(file, flags | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_NONBLOCK", 0))
    try:
        if not stat.S_ISREG(os.fstat(number).st_mode):
            raise StoreError(f"{file.name} is no regular file: expected a file with content")
        yield number
    finally:
        os.close(number)


@contextlib.contextmanager
def open_new(file: Path) -> Iterator[int]:
    """A file that must not exist yet, for its owner alone, open for writing."""
    flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0)
    number = os.open(file, flags, PRIVATE_FILE)
    try:
        yield number
    finally:
        os.close(number)


def write_all(number: int, data: bytes) -> None:
    """Write every byte: a disk that is nearly full may take only some."""
    left = memoryview(data)
    while left:
        left = left[os.write(number, left) :]


def write_new_file(file: Path, data: bytes) -> None:
    """A whole file that must not exist yet."""
    with open_new(file) as number:
        write_all(number, data)
        sync_file(number)


def digest_of_file(file: Path, moved: Moved = lambda _bytes: None) -> tuple[int, str]:
    """Size and SHA-256 of a regular file."""
    digest, size = hashlib.sha256(), 0
    with open_regular(file) as number:
        while chunk := os.read(number, CHUNK_BYTES):
            digest.update(chunk)
            size += len(chunk)
            moved(len(chunk))
    return size, digest.hexdigest()


def move(source: Path, target: Path) -> None:
    """Give a file or folder another place on the same disk; both folders are then on the disk."""
    os.rename(source, target)
    sync_folder(target.parent)
    sync_folder(source.parent)


def remove_tree(folder: Path) -> None:
    """Remove a folder, if it is there, with all that it holds, write-protected files too."""
    if not folder.exists():
        return
    for path in folder.rglob("*"):
        if not path.is_symlink() and not path.is_dir():
            with contextlib.suppress(OSError):
                path.chmod(PRIVATE_FILE)  # Windows removes no write-protected file
    shutil.rmtree(folder)


_WORDS = {
    errno.ENOSPC: "the disk is full",
    errno.EDQUOT: "the disk quota is used up",
    errno.EFBIG: "the file is larger than this system allows",
    errno.EACCES: "no permission",
    errno.EPERM: "no permission",
    errno.EROFS: "the disk is write-protected",
    errno.ENAMETOOLONG: "a name is too long for this system",
    errno.EIO: "the disk reports an error",
}


@contextlib.contextmanager
def disk_errors_told(doing: str) -> Iterator[None]:
    """Turn an error of the disk into a `StoreError` that says what was being done."""
    try:
        yield
    except OSError as error:
        why = _WORDS.get(error.errno or 0) or error.strerror or type(error).__name__
        where = f" ({error.filename})" if error.filename else ""
        raise StoreError(f"{doing}: {why}{where}; nothing was changed") from error
