"""The form of the database: what is made, what is migrated, what is refused."""

import re
import shutil
import sqlite3
from contextlib import closing
from functools import partial
from importlib.resources import files
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory

from slowphase.store import Store, StoreError, StoreTooNew, schema
from slowphase.store.database import open_database
from slowphase.store.schema import SCHEMA, alembic_config, bring_up_to_date
from slowphase.store.tables import APPEND_ONLY, Base
from tests.store.crash_work import snapshot
from tests.store.later_schema import later_schema


@pytest.fixture
def later(tmp_path):
    """The schema of a later version, whose last migration may do ``more``."""

    return partial(later_schema, tmp_path / "100% later")


@pytest.fixture
def older(store, session):
    """The folder of a closed store with a session."""
    store.close()
    return store.data.root


def revision_of(file):
    with closing(sqlite3.connect(file)) as opened:
        return opened.execute("SELECT version_num FROM alembic_version").fetchone()[0]


def columns_of(file, table):
    with closing(sqlite3.connect(file)) as opened:
        return [row[1] for row in opened.execute(f"PRAGMA table_info({table})")]


def test_the_revisions_that_the_store_knows_are_those_of_the_scripts():
    scripts = ScriptDirectory.from_config(
        alembic_config(Path(str(files("slowphase.store"))) / "migrations")
    )
    found = [script.revision for script in scripts.walk_revisions()]
    assert tuple(reversed(found)) == SCHEMA.revisions
    assert scripts.get_current_head() == SCHEMA.head


def test_the_tables_are_those_that_the_migrations_make(store):
    with store.database.engine.connect() as connection:
        context = MigrationContext.configure(connection, opts={"compare_type": True})
        assert compare_metadata(context, Base.metadata) == []


@pytest.mark.parametrize("table", APPEND_ONLY)
def test_rows_that_are_only_added_can_neither_be_changed_nor_removed(store, session, table):
    store.add_edit(session.id, "set_aside", "sin-0.5", {}, by="Ann", reason="x", expected=0)
    store.save_map("chair", "x", by="Ann")
    with closing(sqlite3.connect(store.data.database)) as opened:
        if table == "readings":
            opened.execute(f"INSERT INTO readings VALUES ('{session.id}', 1, '', '', '', '')")
            opened.commit()
        (column,) = opened.execute(
            f"SELECT name FROM pragma_table_info('{table}') LIMIT 1"
        ).fetchone()
        rows = opened.execute(f"SELECT * FROM {table}").fetchall()
        assert rows
        for change in (f"UPDATE {table} SET {column} = {column}", f"DELETE FROM {table}"):
            with pytest.raises(sqlite3.IntegrityError, match=f"rows of {table} are only added"):
                opened.execute(change)
        assert opened.execute(f"SELECT * FROM {table}").fetchall() == rows


def test_a_row_cannot_be_replaced_by_the_store_s_own_connection_either(store, session):
    columns = "id, at, what, text, patient, session, detail, reverses"
    replace = f"INSERT OR REPLACE INTO log (by, {columns}) SELECT 'Eve', {columns} FROM log"
    with (
        pytest.raises(Exception, match="rows of log are only added"),
        store.database.writing() as rows,
    ):
        rows.connection().exec_driver_sql(replace)
    assert store.log()[0].by == "Ann"


def test_every_connection_keeps_what_it_confirms(store):
    expected = {"foreign_keys": 1, "synchronous": 2, "journal_mode": "wal", "recursive_triggers": 1}
    with store.database.reading() as one, store.database.reading() as other:
        for rows in (one, other):
            connection = rows.connection()
            for name, value in expected.items():
                assert connection.exec_driver_sql(f"PRAGMA {name}").scalar() == value, name
            assert connection.exec_driver_sql("PRAGMA busy_timeout").scalar() >= 1000


def test_an_older_store_is_copied_and_then_migrated(older, later, tmp_path, monkeypatch):
    newer = later()
    before = older / "store.sqlite"
    kept = shutil.copy(before, tmp_path / "kept.sqlite")
    monkeypatch.setattr(
        "slowphase.store.store.bring_up_to_date", partial(bring_up_to_date, schema=newer)
    )
    store = Store.open(older)
    shown = snapshot(store)
    store.close()
    assert revision_of(before) == "9999"
    assert "room" in columns_of(before, "sessions")
    (copy,) = (older / "before-migration").iterdir()
    assert re.fullmatch(r"store-0001-[\dT+-]+\.sqlite", copy.name)
    assert revision_of(copy) == SCHEMA.head
    entry = shown["log"][0]
    assert (entry.what, entry.by, entry.detail) == (
        "store_migrated",
        "Slowphase",
        {"copy": copy.name},
    )
    with closing(sqlite3.connect(copy)) as opened, closing(sqlite3.connect(kept)) as old:
        assert list(opened.iterdump()) == list(old.iterdump())


def test_the_copy_of_an_older_store_can_be_put_back(older, later):
    database = open_database(older / "store.sqlite")
    copy = bring_up_to_date(database, older / "before-migration", "2026-03-02T14:05:00", later())
    database.close()
    (older / "store.sqlite").unlink()
    shutil.copy(copy, older / "store.sqlite")
    store = Store.open(older)
    assert len(store.patients()) == 1
    assert store.check() == ()
    store.close()


def test_a_migration_that_fails_half_way_leaves_the_older_store_as_it_was(older, later):
    before = (older / "store.sqlite").read_bytes()
    database = open_database(older / "store.sqlite")
    broken = later("op.execute('SELECT nothing FROM nowhere')")
    with pytest.raises(Exception, match="nowhere"):
        bring_up_to_date(database, older / "before-migration", "2026-03-02T14:05:00", broken)
    database.close()
    assert revision_of(older / "store.sqlite") == SCHEMA.head
    assert "room" not in columns_of(older / "store.sqlite", "sessions")
    assert (older / "store.sqlite").read_bytes() == before
    Store.open(older).close()


def test_nothing_is_migrated_when_the_copy_cannot_be_made(older, later, monkeypatch):
    def full(_source, _target):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(schema, "copy_database", full)
    database = open_database(older / "store.sqlite")
    with pytest.raises(
        StoreError, match="copying the store before it is migrated: the disk is full"
    ):
        bring_up_to_date(database, older / "before-migration", "2026-03-02T14:05:00", later())
    database.close()
    assert revision_of(older / "store.sqlite") == SCHEMA.head


@pytest.mark.parametrize("how", [{}, {"read_only": True}])
def test_a_store_of_a_newer_version_is_refused_and_not_touched(older, later, how):
    database = open_database(older / "store.sqlite")
    bring_up_to_date(database, older / "before-migration", "2026-03-02T14:05:00", later())
    database.close()
    before = (older / "store.sqlite").read_bytes()
    with pytest.raises(StoreTooNew, match="made by a newer version of Slowphase") as told:
        Store.open(older, **how)
    assert "9999" in str(told.value)
    assert (older / "store.sqlite").read_bytes() == before


def test_an_older_store_is_not_migrated_by_looking_at_it(older, later, monkeypatch):
    monkeypatch.setattr(
        "slowphase.store.store.check_current", partial(schema.check_current, schema=later())
    )
    with pytest.raises(StoreError, match="has the older form 0001"):
        Store.open(older, read_only=True)
    assert revision_of(older / "store.sqlite") == SCHEMA.head


def test_a_database_of_another_program_is_refused(tmp_path):
    (tmp_path / "data").mkdir()
    with closing(sqlite3.connect(tmp_path / "data" / "store.sqlite")) as opened:
        opened.execute("CREATE TABLE songs (title)")
    with pytest.raises(StoreError, match="is no database of Slowphase"):
        Store.open(tmp_path / "data")
    (tmp_path / "data" / "store.sqlite").write_bytes(b"no database at all" * 100)
    with pytest.raises(StoreError, match="is no database of Slowphase"):
        Store.open(tmp_path / "data")


def test_a_folder_that_holds_something_else_is_refused(tmp_path):
    (tmp_path / "letters.txt").write_text("dear", encoding="utf-8")
    with pytest.raises(StoreError, match=r"holds letters\.txt and no store"):
        Store.open(tmp_path)
    with pytest.raises(StoreError, match="is no folder"):
        Store.open(tmp_path / "letters.txt")
    with pytest.raises(StoreError, match="is no store"):
        Store.open(tmp_path, read_only=True)
    assert [path.name for path in tmp_path.iterdir()] == ["letters.txt"]


def test_sessions_without_their_database_are_not_taken_for_a_new_store(older):
    (older / "store.sqlite").unlink()
    with pytest.raises(StoreError, match=r"holds sessions and no store\.sqlite"):
        Store.open(older)
    assert len(list((older / "sessions").iterdir())) == 1
