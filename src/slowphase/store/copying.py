"""A copy of the database while it is in use: that of one moment, verified."""

import contextlib
import sqlite3
from pathlib import Path

from slowphase.store.database import database_errors_told
from slowphase.store.disk import open_new, sync_file
from slowphase.store.errors import StoreError


def copy_database(source: Path, target: Path) -> None:
    """Copy with SQLite's own online backup into a file that must not exist; raises `StoreError`."""
    with open_new(target) as number:
        with (
            database_errors_told(source),
            contextlib.closing(sqlite3.connect(source, timeout=10.0)) as read,
            contextlib.closing(sqlite3.connect(target)) as written,
        ):
            read.backup(written)  # all pages in one step: writers go on beside it
            written.execute("PRAGMA journal_mode = DELETE")
        sync_file(number)
    check_database(target)


def check_database(file: Path) -> None:
    """Raise `StoreError` unless a database is whole."""
    with (
        database_errors_told(file),
        contextlib.closing(
            sqlite3.connect(f"{file.resolve().as_uri()}?mode=ro", uri=True)
        ) as opened,
    ):
        found = [row[0] for row in opened.execute("PRAGMA integrity_check")]
        broken = list(opened.execute("PRAGMA foreign_key_check"))
    if found != ["ok"] or broken:
        told = found[0] if found != ["ok"] else f"{len(broken)} rows name what is not there"
        raise StoreError(f"{file.name} is damaged ({told}): restore it from a backup")
