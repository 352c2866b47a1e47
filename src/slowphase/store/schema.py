"""The form of the database: a new one is made, an older one migrated, a newer one refused."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator
from dataclasses import dataclass
from importlib.resources import as_file, files
from pathlib import Path
from typing import TYPE_CHECKING

from slowphase.store.copying import copy_database
from slowphase.store.database import Database
from slowphase.store.disk import disk_errors_told, move
from slowphase.store.errors import StoreError, StoreTooNew

if TYPE_CHECKING:
    from alembic.config import Config


@dataclass(frozen=True, slots=True)
class Schema:
    """The revisions that this version of Slowphase knows, in their order."""

    revisions: tuple[str, ...]
    scripts: Path | None = None  # those of the package

    @property
    def head(self) -> str:
        """The revision that this version works with."""
        return self.revisions[-1]


SCHEMA = Schema(("0001",))


def found_revision(database: Database) -> str | None:
    """The revision of a database; None for an empty one. Raises `StoreError` for another's."""
    with database.reading() as session:
        connection = session.connection()
        query = "SELECT name FROM sqlite_master WHERE type = 'table'"
        tables = {row[0] for row in connection.exec_driver_sql(query)}
        if not tables:
            return None
        if "alembic_version" in tables:
            found = connection.exec_driver_sql("SELECT version_num FROM alembic_version").scalar()
            return None if found is None else str(found)
    raise StoreError(f"{database.file} is no database of Slowphase: name another folder")


def check_current(database: Database, schema: Schema = SCHEMA) -> None:
    """Raise `StoreError` unless a database has the form that this version works with."""
    found = found_revision(database)
    if found not in schema.revisions:
        raise _too_new(database.file, found, schema)
    if found != schema.head:
        raise StoreError(
            f"{database.file} has the older form {found}; this version works with {schema.head}: "
            "open the store once with slowphase serve, which copies and migrates it"
        )


def bring_up_to_date(
    database: Database, copies: Path, at: str, schema: Schema = SCHEMA
) -> Path | None:
    """Make or migrate the database as a whole; returns the copy of an older one, if it was older.

    Raises `StoreTooNew` for one of a newer version, before anything is touched.
    """
    found = found_revision(database)
    if found == schema.head:
        return None
    if found is not None and found not in schema.revisions:
        raise _too_new(database.file, found, schema)
    copy = None if found is None else _copy_first(database.file, copies, f"{found}-{at}")
    _upgrade(database, schema)
    return copy


def _too_new(file: Path, found: str | None, schema: Schema) -> StoreTooNew:
    return StoreTooNew(
        f"{file} has the form {found}, made by a newer version of Slowphase; this version knows "
        f"{schema.revisions[0]} to {schema.head}: install the newer version. Nothing was changed."
    )


def _copy_first(file: Path, copies: Path, name: str) -> Path:
    """A verified copy of the database before it is migrated."""
    plain = "".join(sign if sign.isalnum() or sign in "-+" else "" for sign in name)
    copy, part = copies / f"store-{plain}.sqlite", copies / f".store-{plain}.part"
    with disk_errors_told("copying the store before it is migrated"):
        part.unlink(missing_ok=True)
        copy_database(file, part)
        move(part, copy)
    return copy


def _upgrade(database: Database, schema: Schema) -> None:
    """Run the migrations in one transaction: a crash leaves the database as it was."""
    from alembic import command

    with _scripts(schema) as scripts, database.writing() as session:
        config = alembic_config(scripts)
        config.attributes["connection"] = session.connection()
        command.upgrade(config, schema.head)


@contextlib.contextmanager
def _scripts(schema: Schema) -> Iterator[Path]:
    """The folder of the migrations, also where the package is not a folder on the disk."""
    if schema.scripts is not None:
        yield schema.scripts
        return
    with as_file(files("slowphase.store") / "migrations") as scripts:
        yield scripts


def alembic_config(scripts: Path) -> Config:
    """What Alembic needs to know, without a file of its own."""
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(scripts).replace("%", "%%"))
    config.set_main_option("path_separator", "os")
    return config
