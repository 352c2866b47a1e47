"""A copy of the database while it is in use: that of one moment, verified."""

import contextlib
import sqlite3
from pathlib import Path

from slowphase.store.database import BUSY_MS, database_errors_told
from slowphase.store.disk import open_new, sync_file
from slowphase.store.errors import StoreError


def copy_database(source: Path, target: Path) -> None:
    """Copy with SQLite's own online backup into a file that must not exist; raises `StoreError`."""
    with open_new(target) as number:
        with (
            database_errors_told(source),
            contextlib.closing(open_existing(source)) as read,
            contextlib.closing(open_existing(target)) as written,
        ):
            read.backup(written)  # all pages in one step: writers go on beside it
            written.execute("PRAGMA journal_mode = DELETE")
        sync_file(number)
    check_database(target)


def check_database(file: Path) -> None:
    """Raise `StoreError` unless a database is whole."""
    with database_errors_told(file), contextlib.closing(open_existing(file)) as opened:
        opened.execute("PRAGMA query_only = ON")
        found = [row[0] for row in opened.execute("PRAGMA integrity_check")]
        broken = list(opened.execute("PRAGMA foreign_key_check"))
    if found != ["ok"] or broken:
        told = found[0] if found != ["ok"] else f"{len(broken)} rows name what is not there"
        raise StoreError(f"{file.name} is damaged ({told}): restore it from a backup")


def open_existing(file: Path) -> sqlite3.Connection:
    """A connection to a database that must be there already: none is made."""
    if not file.is_file():
        raise StoreError(f"there is no database {file.name}: expected one that exists")
    return sqlite3.connect(file, timeout=BUSY_MS / 1000)
