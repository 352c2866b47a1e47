"""The two shapes of a backup, a folder and a .zip, written and read in the same way."""

import contextlib
import hashlib
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import IO, Any, Self

from slowphase.store.disk import (
    CHUNK_BYTES,
    Moved,
    copy_file,
    digest_of_file,
    make_folder,
    open_new,
    open_regular,
    sync_file,
    sync_folder,
    write_all,
    write_new_file,
)
from slowphase.store.errors import StoreError
from slowphase.store.rows import OriginalFile


@dataclass(slots=True)
class FolderWriter:
    """Writes a backup as a folder."""

    path: Path

    def __enter__(self) -> Self:
        make_folder(self.path)
        return self

    def __exit__(self, failed: object, *_rest: object) -> None:
        if failed is None:
            for folder in [*(path for path in self.path.rglob("*") if path.is_dir()), self.path]:
                sync_folder(folder)

    def add(self, file: Path, name: str, moved: Moved) -> OriginalFile:
        """Add a file; returns what was written."""
        target = self.path / name
        make_folder(target.parent)
        return OriginalFile(name, *copy_file(file, target, moved))

    def add_text(self, name: str, text: str) -> None:
        """Add a text as a file."""
        write_new_file(self.path / name, text.encode())


@dataclass(slots=True)
class ZipWriter:
    """Writes a backup as one .zip."""

    path: Path
    _closing: contextlib.ExitStack = field(default_factory=contextlib.ExitStack)
    _zip: Any = None
    _stream: Any = None

    def __enter__(self) -> Self:
        number = self._closing.enter_context(open_new(self.path))
        self._stream = self._closing.enter_context(open(number, "wb", closefd=False))
        self._zip = zipfile.ZipFile(
            self._stream, "w", zipfile.ZIP_DEFLATED, allowZip64=True, compresslevel=1
        )
        return self

    def __exit__(self, failed: object, *_rest: object) -> None:
        with self._closing:
            if failed is None:
                self._zip.close()
                self._stream.flush()
                sync_file(self._stream.fileno())

    def add(self, file: Path, name: str, moved: Moved) -> OriginalFile:
        """Add a file; returns what was written."""
        digest, size = hashlib.sha256(), 0
        with (
            open_regular(file) as number,
            open(number, "rb", closefd=False) as read,
            self._zip.open(_entry(name), "w", force_zip64=True) as written,
        ):
            while chunk := read.read(CHUNK_BYTES):
                digest.update(chunk)
                written.write(chunk)
                size += len(chunk)
                moved(len(chunk))
        return OriginalFile(name, size, digest.hexdigest())

    def add_text(self, name: str, text: str) -> None:
        """Add a text as a file."""
        self._zip.writestr(_entry(name), text.encode())


def _entry(name: str) -> zipfile.ZipInfo:
    """An entry for its owner alone; when a file was copied says nothing about it."""
    entry = zipfile.ZipInfo(name, (1980, 1, 1, 0, 0, 0))
    entry.compress_type = zipfile.ZIP_DEFLATED
    entry.external_attr = 0o600 << 16
    return entry


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
        return self._through(name, lambda _chunk: None, moved)

    def take(self, name: str, target: Path, moved: Moved) -> tuple[int, str]:
        """Copy a file out; returns its size and SHA-256."""
        with open_new(target) as number:
            told = self._through(name, lambda chunk: write_all(number, chunk), moved)
            sync_file(number)
        return told

    def _through(self, name: str, use: Any, moved: Moved) -> tuple[int, str]:
        digest, size = hashlib.sha256(), 0
        stream: IO[bytes]
        with self.opened.open(name) as stream:
            while chunk := stream.read(CHUNK_BYTES):
                use(chunk)
                digest.update(chunk)
                size += len(chunk)
                moved(len(chunk))
        return size, digest.hexdigest()


@contextlib.contextmanager
def open_backup(path: Path) -> Iterator[FolderReader | ZipReader]:
    """A backup to read; raises `StoreError` for what is neither a folder nor a whole .zip."""
    if path.is_dir():
        yield FolderReader(path)
        return
    try:
        with zipfile.ZipFile(path) as opened:
            yield ZipReader(opened)
    except (zipfile.BadZipFile, NotImplementedError, EOFError) as error:
        raise StoreError(f"{path} is no whole .zip ({error}): expected a backup") from error
