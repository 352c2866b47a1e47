"""One program at a time writes to a store.

The lock is one that SQLite itself takes on a small file of its own: it works in the same way on
Linux, macOS and Windows, holds between two stores of one program too, and ends with the program,
however that ends. Nothing is ever written into the file. Who holds it stands in a text beside it.
"""

import contextlib
import os
import sqlite3
from dataclasses import dataclass
from pathlib import Path

from slowphase.store.disk import open_new, write_new_file
from slowphase.store.errors import StoreError, StoreInUse


@dataclass(frozen=True, slots=True)
class WriterLock:
    """A lock that is held."""

    connection: sqlite3.Connection
    holder: Path

    def release(self) -> None:
        """Let the next program write."""
        with contextlib.suppress(OSError):
            self.holder.unlink(missing_ok=True)
        self.connection.close()


def take_lock(file: Path, since: str) -> WriterLock:
    """Take the lock of a store at once or raise `StoreInUse`; ``since`` is the time to be shown."""
    holder = file.with_suffix(".holder")
    try:
        _make_sure_of(file)
        connection = _locked(file)
    except OSError as error:
        why = error.strerror or type(error).__name__
        raise StoreError(f"{file}: {why}; expected a folder that may be written to") from error
    except sqlite3.OperationalError as error:
        raise _refused(file, holder, error) from error
    with contextlib.suppress(OSError):
        holder.unlink(missing_ok=True)
        write_new_file(holder, f"process {os.getpid()}, since {since}".encode())
    return WriterLock(connection, holder)


def _make_sure_of(file: Path) -> None:
    """The file is there; one that is, is never opened: closing it would end the lock on it."""
    if not file.exists():
        with contextlib.suppress(FileExistsError), open_new(file):
            pass


def _locked(file: Path) -> sqlite3.Connection:
    connection = sqlite3.connect(file, timeout=0, isolation_level=None, check_same_thread=False)
    try:
        connection.execute("PRAGMA journal_mode = MEMORY")  # no second file beside the lock
        connection.execute("BEGIN EXCLUSIVE")
    except sqlite3.Error:
        connection.close()
        raise
    return connection


def _refused(file: Path, holder: Path, error: sqlite3.OperationalError) -> StoreError:
    if error.sqlite_errorcode & 0xFF not in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED):
        return StoreError(f"{file}: {error}; expected a disk that can lock files")
    who = ""
    with contextlib.suppress(OSError, UnicodeDecodeError):
        who = f" ({holder.read_text(encoding='utf-8')})"
    return StoreInUse(
        f"the store {file.parent} is in use by another Slowphase{who}: "
        "work there, or close it first, or name another folder"
    )
