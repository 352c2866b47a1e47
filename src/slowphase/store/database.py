"""The database: one file of SQLite in WAL mode; a change is one transaction, whole or not there.

Readers see the last whole change and wait for nobody; writers of one program take turns.
"""

import contextlib
import json
import sqlite3
import threading
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from typing import Any

from sqlalchemy import URL, Connection, Engine, create_engine, event
from sqlalchemy.exc import DBAPIError
from sqlalchemy.orm import Session

from slowphase.store.disk import open_new
from slowphase.store.errors import StoreError

BUSY_MS = 10_000
PRAGMAS = (
    "foreign_keys = ON",
    "recursive_triggers = ON",  # the triggers that refuse removals also see a REPLACE
    f"busy_timeout = {BUSY_MS}",
    "synchronous = FULL",
    "fullfsync = ON",  # macOS: past the drive's own cache; nothing elsewhere
    "trusted_schema = OFF",
)


@dataclass(frozen=True, slots=True)
class Database:
    """An open database: sessions that read, and sessions that write one at a time."""

    file: Path
    engine: Engine
    writes: bool
    turn: Any = field(default_factory=threading.RLock)

    @contextlib.contextmanager
    def reading(self) -> Iterator[Session]:
        """A look at the database as it stands."""
        with database_errors_told(self.file), Session(self.engine) as session:
            yield session

    @contextlib.contextmanager
    def writing(self) -> Iterator[Session]:
        """One change: all of it is on the disk when this ends, and none of it after an error."""
        self.check_writes()
        immediate = self.engine.execution_options(begin="IMMEDIATE")
        with self.turn, database_errors_told(self.file), Session(immediate) as session:
            yield session
            session.commit()

    def check_writes(self) -> None:
        """Raise `StoreError` where the store was opened only to look at."""
        if not self.writes:
            raise StoreError("the store was opened only to look at: nothing was changed")

    def close(self) -> None:
        """Close every connection; the last one folds the write-ahead log into the file."""
        self.engine.dispose()


def open_database(file: Path, *, writes: bool = True) -> Database:
    """Open a database, or make an empty one for its owner alone; ``writes`` may be forbidden."""
    with database_errors_told(file):
        if writes and not file.exists():
            with open_new(file):
                pass
        engine = create_engine(
            URL.create("sqlite", database=str(file)),  # a path may hold ? and %
            hide_parameters=True,  # no patient in a traceback
            json_serializer=partial(json.dumps, ensure_ascii=False, allow_nan=False),
            connect_args={"timeout": BUSY_MS / 1000},
        )
        event.listen(engine, "connect", partial(_set_up, writes=writes))
        event.listen(engine, "begin", _begin)
        with engine.connect():  # a file that cannot be opened is told now
            pass
    return Database(file, engine, writes)


def _set_up(connection: sqlite3.Connection, _record: object, *, writes: bool) -> None:
    connection.isolation_level = None  # transactions begin where the engine says, also around DDL
    last = "journal_mode = WAL" if writes else "query_only = ON"
    try:
        for pragma in (*PRAGMAS, last):
            connection.execute(f"PRAGMA {pragma}")
    except sqlite3.Error:
        connection.close()
        raise


def _begin(connection: Connection) -> None:
    how = connection.get_execution_options().get("begin", "DEFERRED")
    connection.exec_driver_sql(f"BEGIN {how}")


_WORDS = {
    sqlite3.SQLITE_FULL: "the disk is full",
    sqlite3.SQLITE_READONLY: "the disk or the file is write-protected",
    sqlite3.SQLITE_BUSY: "another program holds the database",
    sqlite3.SQLITE_LOCKED: "another program holds the database",
    sqlite3.SQLITE_CANTOPEN: "the file cannot be opened",
    sqlite3.SQLITE_IOERR: "the disk reports an error",
    sqlite3.SQLITE_PERM: "no permission",
    sqlite3.SQLITE_CORRUPT: "the database is damaged; restore it from a backup",
    sqlite3.SQLITE_NOTADB: "the file is no database of Slowphase; restore it from a backup",
    sqlite3.SQLITE_NOMEM: "not enough memory",
    sqlite3.SQLITE_TOOBIG: "a text is larger than the database takes",
}


@contextlib.contextmanager
def database_errors_told(file: Path) -> Iterator[None]:
    """Turn an error of the disk or of SQLite into a `StoreError`; others are faults of the code."""
    try:
        yield
    except (DBAPIError, sqlite3.Error) as error:
        orig = error.orig if isinstance(error, DBAPIError) else error
        why = _WORDS.get(getattr(orig, "sqlite_errorcode", 0) & 0xFF)
        if why is None:
            raise
        raise StoreError(f"{file.name}: {why}; nothing was changed") from error
    except OSError as error:
        raise StoreError(f"{file}: {error.strerror or error}; nothing was changed") from error
    except (UnicodeEncodeError, OverflowError) as error:
        raise StoreError(f"a value cannot be kept ({error}): expected plain text") from error
