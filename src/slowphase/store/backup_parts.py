"""The two shapes of a backup, a folder and a .zip, written and read in the same way."""

import contextlib
import hashlib
import zipfile
import zlib
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

from slowphase.store.disk import (
    CHUNK_BYTES,
    Moved,
    copy_file,
    digest_of_file,
    make_folder,
    open_new,
    open_regular,
    sync_file,
    sync_folders,
    write_all,
    write_new_file,
)
from slowphase.store.errors import StoreError
from slowphase.store.rows import OriginalFile


@dataclass(frozen=True, slots=True)
class FolderWriter:
    """Writes a backup as a folder."""

    path: Path

    def add(self, file: Path, name: str, moved: Moved) -> OriginalFile:
        """Add a file; returns what was written."""
        target = self.path / name
        make_folder(target.parent)
        return OriginalFile(name, *copy_file(file, target, moved))

    def add_text(self, name: str, text: str) -> None:
        """Add a text as a file."""
        write_new_file(self.path / name, text.encode())


@dataclass(frozen=True, slots=True)
class ZipWriter:
    """Writes a backup as one .zip."""

    opened: zipfile.ZipFile

    def add(self, file: Path, name: str, moved: Moved) -> OriginalFile:
        """Add a file; returns what was written."""
        with (
            open_regular(file) as number,
            open(number, "rb", closefd=False) as read,
            self.opened.open(_entry(name), "w", force_zip64=True) as written,
        ):
            return OriginalFile(name, *_through(read.read, written.write, moved))

    def add_text(self, name: str, text: str) -> None:
        """Add a text as a file."""
        self.opened.writestr(_entry(name), text.encode())


Writer = FolderWriter | ZipWriter


@contextlib.contextmanager
def new_backup(path: Path) -> Iterator[Writer]:
    """A backup to write, a .zip if its name says so; on the disk when this ends."""
    if path.suffix.lower() != ".zip":
        make_folder(path)
        yield FolderWriter(path)
        sync_folders(path)
        return
    with open_new(path) as number, open(number, "wb", closefd=False) as stream:
        with zipfile.ZipFile(stream, "w", allowZip64=True) as opened:
            yield ZipWriter(opened)
        stream.flush()
        sync_file(number)


def _entry(name: str) -> zipfile.ZipInfo:
    """An entry for its owner alone; when a file was copied says nothing about it."""
    entry = zipfile.ZipInfo(name, (1980, 1, 1, 0, 0, 0))
    entry.compress_type = zipfile.ZIP_DEFLATED
    entry.external_attr = 0o600 << 16
    return entry


def _through(
    read: Callable[[int], bytes], use: Callable[[bytes], object], moved: Moved
) -> tuple[int, str]:
    """Pass everything on; returns its size and SHA-256."""
    digest, size = hashlib.sha256(), 0
    while chunk := read(CHUNK_BYTES):
        use(chunk)
        digest.update(chunk)
        size += len(chunk)
        moved(len(chunk))
    return size, digest.hexdigest()


@dataclass(frozen=True, slots=True)
class FolderReader:
    """Reads a backup that is a folder."""

    path: Path

    def text(self, name: str) -> str:
        """A file as a text."""
        return (self.path / name).read_bytes().decode()

    def digest(self, name: str, moved: Moved) -> tuple[int, str]:
        """Size and SHA-256 of a file."""
        return digest_of_file(self.path / name, moved)

    def take(self, name: str, target: Path, moved: Moved) -> tuple[int, str]:
        """Copy a file out; returns its size and SHA-256."""
        return copy_file(self.path / name, target, moved)


@dataclass(frozen=True, slots=True)
class ZipReader:
    """Reads a backup that is a .zip."""

    opened: zipfile.ZipFile

    def text(self, name: str) -> str:
        """A file as a text."""
        return self.opened.read(name).decode()

    def digest(self, name: str, moved: Moved) -> tuple[int, str]:
        """Size and SHA-256 of a file."""
        with self.opened.open(name) as stream:
            return _through(stream.read, lambda _chunk: None, moved)

    def take(self, name: str, target: Path, moved: Moved) -> tuple[int, str]:
        """Copy a file out; returns its size and SHA-256."""
        with self.opened.open(name) as stream, open_new(target) as number:
            told = _through(stream.read, lambda chunk: write_all(number, chunk), moved)
            sync_file(number)
        return told


Reader = FolderReader | ZipReader
# What Python's reader raises for a damaged, encrypted or half file.
_DAMAGED = (zipfile.BadZipFile, zlib.error, EOFError, RuntimeError)


@contextlib.contextmanager
def open_backup(path: Path) -> Iterator[Reader]:
    """A backup to read; raises `StoreError` for what is neither a folder nor a whole .zip."""
    if path.is_dir():
        yield FolderReader(path)
        return
    try:
        with zipfile.ZipFile(path) as opened:
            yield ZipReader(opened)
    except _DAMAGED as error:
        raise StoreError(f"{path} is no whole .zip ({error}): expected a backup") from error
