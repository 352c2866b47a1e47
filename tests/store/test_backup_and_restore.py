"""A backup is whole, of one moment, and gives the same store back."""

import json
import os
import shutil
import sqlite3
import threading
import zipfile
from contextlib import closing

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from slowphase.store import Store, StoreError, backup_parts, restore
from slowphase.store.backup import backup
from slowphase.store.copying import check_database
from tests.store.crash_work import snapshot
from tests.store.small_session import sealed, write_small_session

SHAPES = ("kept", "kept.zip", "KEPT.ZIP")


@pytest.fixture
def filled(store, session, tmp_path):
    """The store with two sessions, an edit, a signed version and notes."""
    store.add_session(write_small_session(tmp_path / "came" / "b", "K-2"), by="Ann")
    store.add_edit(session.id, "set_aside", "sin-0.5", {}, by="Ann", reason="x", expected=0)
    store.keep_version(session.id, *sealed(), by="Ann")
    store.save_course_notes(session.patient, "notes", by="Ann")
    store.keep_document(session.id, "key", {"can": "be made again"})
    store.import_folder(store.new_import()).joinpath("x.csv").write_text("1", encoding="utf-8")
    return store


def names_of(path):
    if path.is_dir():
        return {p.relative_to(path).as_posix() for p in path.rglob("*") if p.is_file()}
    with zipfile.ZipFile(path) as opened:
        return set(opened.namelist())


@pytest.mark.parametrize("shape", SHAPES)
def test_a_restored_backup_is_the_same_store(filled, tmp_path, shape):
    made = filled.backup(tmp_path / shape)
    assert (made.path, made.problems) == (tmp_path / shape, ())
    assert (tmp_path / shape).is_dir() == (shape == "kept")
    restore(tmp_path / shape, tmp_path / "again")
    again = Store.open(tmp_path / "again")
    seen, kept = snapshot(again), snapshot(filled)
    restored, *entries = seen.pop("log")
    assert tuple(entries) == kept.pop("log")
    assert seen == kept
    assert again.check() == ()
    assert (restored.what, restored.by) == ("store_restored", "Slowphase")
    assert restored.text.startswith(f"restored the store from the backup {shape}, made 20")
    again.close()
    reopened = Store.open(tmp_path / "again")
    assert [entry.what for entry in reopened.log()].count("store_restored") == 1
    reopened.close()


@pytest.mark.parametrize("shape", SHAPES)
def test_a_backup_holds_the_database_and_original_files_and_nothing_else(filled, tmp_path, shape):
    made = filled.backup(tmp_path / shape)
    sessions = [row for patient in filled.patients() for row in patient.sessions]
    originals = {f"sessions/{row.id}/{file.path}" for row in sessions for file in row.files}
    assert names_of(made.path) == originals | {"store.sqlite", "backup.json"}
    assert made.files == len(originals) + 1


@pytest.mark.skipif(os.name == "nt", reason="needs permissions of the owner alone")
@pytest.mark.parametrize("shape", SHAPES)
def test_only_the_owner_may_look_into_a_backup_and_what_is_restored(filled, tmp_path, shape):
    filled.backup(tmp_path / shape)
    restore(tmp_path / shape, tmp_path / "again")
    for place in (tmp_path / shape, tmp_path / "again"):
        for path in [place, *place.rglob("*")]:
            assert path.stat().st_mode & 0o077 == 0, path


@pytest.mark.parametrize("shape", ["kept", "kept.zip"])
def test_a_backup_beside_constant_changes_is_that_of_one_moment(store, tmp_path, shape):
    folder = write_small_session(tmp_path / "came", rows=60)
    stop, failed = threading.Event(), []

    def work():
        number = 0
        while not stop.is_set():
            try:
                row = store.add_session(folder, by="Ann")
                store.add_edit(row.id, "set_aside", "sin-0.5", {}, by="Ann", reason="x", expected=0)
                store.save_course_notes(row.patient, str(number), by="Ann")
                number += 1
            except Exception as error:
                failed.append(error)
                return

    writer = threading.Thread(target=work)
    writer.start()
    try:
        for number in range(6):
            place = tmp_path / f"{number}-{shape}"
            assert store.backup(place).problems == ()
            _check_one_moment(place, tmp_path / f"again-{number}")
    finally:
        stop.set()
        writer.join()
    assert failed == []
    assert len(store.log(limit=10**6)) > 20


def _check_one_moment(place, target):
    """Everything in the log is there, and nothing else is."""
    restore(place, target)
    again = Store.open(target)
    whats = [entry.what for entry in again.log(limit=10**6)]
    rows = [row for patient in again.patients() for row in patient.sessions]
    assert again.check() == ()
    assert len(rows) == whats.count("session_added")
    assert sum(row.edits for row in rows) == whats.count("edit_added")
    notes = whats.count("course_notes_saved")
    if notes:
        assert again.course_notes(rows[0].patient) == str(notes - 1)
    again.close()


def test_a_backup_is_made_beside_a_program_that_works_on_the_store(filled, tmp_path):
    look = Store.open(filled.data.root, read_only=True)
    look.backup(tmp_path / "kept.zip")
    look.close()
    restore(tmp_path / "kept.zip", tmp_path / "again")
    check_database(tmp_path / "again" / "store.sqlite")


def test_nothing_is_overwritten_and_no_backup_lies_in_the_store(filled, tmp_path):
    (tmp_path / "there.zip").write_text("mine", encoding="utf-8")
    (tmp_path / "empty").mkdir()
    (tmp_path / "dead").symlink_to(tmp_path / "nowhere")
    for name in ("there.zip", "empty", "dead"):
        with pytest.raises(StoreError, match="exists already: expected a new name"):
            filled.backup(tmp_path / name)
    with pytest.raises(StoreError, match="lies in the store itself"):
        filled.backup(filled.data.root / "kept.zip")
    with pytest.raises(StoreError, match="there is no folder"):
        filled.backup(tmp_path / "no" / "kept.zip")
    assert (tmp_path / "there.zip").read_text(encoding="utf-8") == "mine"


@pytest.mark.parametrize("shape", ["kept", "kept.zip"])
def test_a_disk_that_fills_up_leaves_no_half_backup(filled, tmp_path, shape, monkeypatch):
    real, count = os.write, iter(range(10**6))

    def fills(number, data):
        if next(count) >= 2:
            raise OSError(28, "No space left on device")
        return real(number, data)

    class FullZip(zipfile.ZipFile):
        def open(self, *args, **more):
            if next(count) >= 2:
                raise OSError(28, "No space left on device")
            return super().open(*args, **more)

    monkeypatch.setattr(os, "write", fills)
    monkeypatch.setattr(backup_parts.zipfile, "ZipFile", FullZip)
    before = sorted(path.name for path in tmp_path.iterdir())
    with pytest.raises(StoreError, match="the disk is full; nothing was changed"):
        filled.backup(tmp_path / shape)
    monkeypatch.undo()
    assert sorted(path.name for path in tmp_path.iterdir()) == before


def test_a_backup_that_reads_differently_is_not_kept(filled, tmp_path, monkeypatch):
    monkeypatch.setattr(backup_parts, "digest_of_file", lambda file, moved: (1, "0" * 64))
    with pytest.raises(StoreError, match="reads differently: the disk may fail"):
        filled.backup(tmp_path / "kept")
    assert not (tmp_path / "kept").exists()


@pytest.mark.parametrize("shape", ["kept", "kept.zip"])
def test_originals_that_are_damaged_are_backed_up_as_they_stand_and_named(filled, tmp_path, shape):
    one, other = (row for patient in filled.patients() for row in patient.sessions)
    changed = filled.session_folder(one.id) / "session.toml"
    changed.chmod(0o600)
    changed.write_text("changed", encoding="utf-8")
    (filled.session_folder(other.id) / "trials" / "sin-0.5.csv").unlink()
    made = filled.backup(tmp_path / shape)
    assert [(p.code, p.file) for p in made.problems] == sorted(
        [("original_changed", f"sessions/{one.id}/session.toml"),
         ("original_missing", f"sessions/{other.id}/trials/sin-0.5.csv")],
        key=lambda found: found[1],
    )  # fmt: skip
    restore(tmp_path / shape, tmp_path / "again")
    again = Store.open(tmp_path / "again")
    assert {problem.code for problem in again.check()} == {"original_changed", "original_missing"}
    again.close()


def test_a_damaged_database_is_told_and_not_backed_up(filled, tmp_path):
    filled.close()
    with filled.data.database.open("r+b") as stream:
        stream.seek(4096 * 3)
        stream.write(b"\xff" * 4096 * 6)
    with pytest.raises(StoreError, match="damaged"):
        backup(filled.data, tmp_path / "kept", "2026-03-02T14:05:00+01:00")
    assert not (tmp_path / "kept").exists()


def test_a_restore_wants_a_new_or_empty_folder(filled, tmp_path):
    filled.backup(tmp_path / "kept.zip")
    (tmp_path / "mine").mkdir()
    (tmp_path / "mine" / "letter.txt").write_text("dear", encoding="utf-8")
    wrong = {"mine": "is not empty", "mine/letter.txt": "is no folder", "data": "is not empty"}
    for target, told in wrong.items():
        with pytest.raises(StoreError, match=told):
            restore(tmp_path / "kept.zip", tmp_path / target)
    with pytest.raises(StoreError, match="there is no backup"):
        restore(tmp_path / "none.zip", tmp_path / "again")
    (tmp_path / "empty").mkdir()
    restore(tmp_path / "kept.zip", tmp_path / "empty")
    Store.open(tmp_path / "empty").close()
    assert (tmp_path / "mine" / "letter.txt").read_text(encoding="utf-8") == "dear"


def test_what_is_no_backup_is_refused(filled, tmp_path):
    (tmp_path / "text.zip").write_text("no zip", encoding="utf-8")
    with pytest.raises(StoreError, match=r"no whole \.zip"):
        restore(tmp_path / "text.zip", tmp_path / "again")
    with pytest.raises(StoreError, match="is no backup of Slowphase"):
        restore(filled.data.root, tmp_path / "again")
    with zipfile.ZipFile(tmp_path / "other.zip", "w") as opened:
        opened.writestr("letter.txt", "dear")
    with pytest.raises(StoreError, match="is no backup of Slowphase"):
        restore(tmp_path / "other.zip", tmp_path / "again")
    assert not (tmp_path / "again").exists()


def changed_manifest(place, change):
    file = place / "backup.json"
    content = json.loads(file.read_text(encoding="utf-8"))
    change(content)
    file.write_text(json.dumps(content), encoding="utf-8")


@pytest.mark.parametrize(
    "name",
    ["../escaped.csv", "sessions/../../escaped.csv", "/escaped.csv", "C:\\escaped.csv",
     "sessions\\a\\escaped.csv", "sessions/escaped.csv", "made/a/escaped.csv", "", ".",
     "sessions/a/./escaped.csv", "sessions//a/escaped.csv", "store.lock"],
)  # fmt: skip
def test_a_manifest_that_leads_elsewhere_is_refused(filled, tmp_path, name):
    filled.backup(tmp_path / "kept")
    (tmp_path / "escaped.csv").write_text("x", encoding="utf-8")

    def add(content):
        content["files"].append({"path": name, "bytes": 1, "sha256": "0" * 64})

    changed_manifest(tmp_path / "kept", add)
    with pytest.raises(StoreError, match="which no backup holds"):
        restore(tmp_path / "kept", tmp_path / "again")
    assert not (tmp_path / "again").exists()


@pytest.mark.parametrize(
    "change",
    [
        lambda content: content.update(format="another"),
        lambda content: content.update(schema=2),
        lambda content: content.update(files=None),
        lambda content: content.update(files=[{"path": 1, "bytes": "x", "sha256": None}]),
        lambda content: content.pop("made_at"),
        lambda content: content["files"].append(content["files"][-1]),
        lambda content: content.update(files=content["files"][1:]),
    ],
)
def test_a_manifest_of_another_form_is_refused(filled, tmp_path, change):
    filled.backup(tmp_path / "kept")
    changed_manifest(tmp_path / "kept", change)
    with pytest.raises(StoreError):
        restore(tmp_path / "kept", tmp_path / "again")
    assert not (tmp_path / "again").exists()


def test_a_file_that_is_missing_or_changed_in_a_backup_is_named(filled, tmp_path):
    filled.backup(tmp_path / "kept")
    (name, *_) = (n for n in sorted(names_of(tmp_path / "kept")) if n.endswith(".csv"))
    file = tmp_path / "kept" / name
    content = file.read_bytes()
    file.write_bytes(content[:-1] + b"9")
    with pytest.raises(StoreError, match=f"{name} in kept is damaged"):
        restore(tmp_path / "kept", tmp_path / "again")
    file.unlink()
    with pytest.raises(StoreError, match=f"kept lacks {name}"):
        restore(tmp_path / "kept", tmp_path / "again")
    file.symlink_to(shutil.copy(tmp_path / "kept" / "backup.json", tmp_path / "elsewhere"))
    with pytest.raises(StoreError):
        restore(tmp_path / "kept", tmp_path / "again")
    assert not (tmp_path / "again").exists()


@pytest.fixture(scope="module")
def zipped(tmp_path_factory):
    place = tmp_path_factory.mktemp("zipped")
    store = Store.open(place / "data")
    store.add_session(write_small_session(place / "came", rows=60), by="Ann")
    store.backup(place / "kept.zip")
    store.close()
    return place, (place / "kept.zip").read_bytes()


@settings(max_examples=120, suppress_health_check=[HealthCheck.too_slow])
@given(data=st.data())
def test_a_zip_that_was_damaged_anywhere_restores_the_same_or_nothing(zipped, data):
    place, content = zipped
    at = data.draw(st.integers(0, len(content) - 1))
    kind = data.draw(st.sampled_from(["cut", "flip", "zero"]))
    broken = bytearray(content[:at] if kind == "cut" else content)
    if kind == "flip":
        broken[at] ^= 1 << data.draw(st.integers(0, 7))
    elif kind == "zero":
        broken[at : at + 64] = bytes(len(broken[at : at + 64]))
    (place / "broken.zip").write_bytes(broken)
    target = place / "again"
    try:
        restore(place / "broken.zip", target)
    except StoreError:
        assert not target.exists()
        return
    with closing(sqlite3.connect(target / "store.sqlite")) as opened:
        assert opened.execute("SELECT count(*) FROM sessions").fetchone() == (1,)
    for file in target.rglob("*.csv"):
        assert file.read_bytes() == (place / "came" / "trials" / file.name).read_bytes()
    shutil.rmtree(target)


def test_progress_of_a_backup_rises_to_the_whole(filled, tmp_path):
    shares = []
    filled.backup(tmp_path / "kept.zip", lambda share, _what: shares.append(share))
    assert shares == sorted(shares)
    assert shares[-1] == pytest.approx(1.0)
    shares.clear()
    restore(tmp_path / "kept.zip", tmp_path / "again", lambda share, _what: shares.append(share))
    assert shares[-1] == pytest.approx(1.0)
