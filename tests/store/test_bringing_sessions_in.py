"""The files of a session come in byte for byte, or not at all."""

import errno
import hashlib
import os
from pathlib import Path

import pytest
from sqlalchemy import event

from slowphase.foundation.errors import InputError
from slowphase.store import Store, StoreCancelled, StoreConflict, StoreError, StoreMissing, intake
from tests.store.small_session import write_small_session


def nothing_came(store):
    left = [*store.data.sessions.iterdir(), *store.data.incoming.iterdir()]
    return store.patients() == () and store.log() == () and left == []


def test_every_file_is_kept_byte_for_byte_with_size_and_digest(store, folder):
    strange = {"notes.bin": bytes(range(256)) * 40, "deep/er/ä b.txt": b"", ".hidden": b"\r\n\x00"}
    for name, content in strange.items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_bytes(content)
    row = store.add_session(folder, by="Ann")
    kept = store.session_folder(row.id)
    names = sorted(p.relative_to(folder).as_posix() for p in folder.rglob("*") if p.is_file())
    assert sorted(file.path for file in row.files) == names
    for file in row.files:
        content = (folder / file.path).read_bytes()
        assert (kept / file.path).read_bytes() == content
        assert file.bytes == len(content)
        assert file.sha256 == hashlib.sha256(content).hexdigest()
    assert store.check_files(row.id) == ()


@pytest.mark.skipif(os.name == "nt", reason="needs permissions of the owner alone")
def test_only_the_owner_may_look_into_the_store_and_originals_are_write_protected(store, session):
    store.keep_document(session.id, "key", {})
    for path in [store.data.root, *store.data.root.rglob("*")]:
        mode = path.stat().st_mode & 0o777
        if path.is_dir():
            assert mode == 0o700, path
        else:
            assert mode == (0o400 if path.is_relative_to(store.data.sessions) else 0o600), path


def test_everything_is_on_the_disk_before_the_rows_are_committed(store, folder, monkeypatch):
    steps = []
    real_sync, real_rename = os.fsync, os.rename

    def sync(number):
        steps.append(("sync", os.readlink(f"/proc/self/fd/{number}")))
        real_sync(number)

    def rename(source, target):
        steps.append(("rename", str(target)))
        real_rename(source, target)

    if not Path("/proc/self/fd").exists():
        pytest.skip("needs the names of open files")
    monkeypatch.setattr(os, "fsync", sync)
    monkeypatch.setattr(os, "rename", rename)
    event.listen(store.database.engine, "commit", lambda _connection: steps.append(("commit", "")))
    row = store.add_session(folder, by="Ann")
    part = store.data.incoming / f"{intake.PART}{row.id}"
    placed = steps.index(("rename", str(store.data.sessions / row.id)))
    before, after = steps[:placed], steps[placed + 1 :]
    for name in ("session.toml", "trials/sin-0.5.csv", "trials", "."):
        assert ("sync", str(part / name)) in before, name
    synced = after[: after.index(("commit", ""))]
    assert ("sync", str(store.data.sessions)) in synced
    assert ("sync", str(store.data.incoming)) in synced


def test_a_folder_without_a_description_is_refused(store, tmp_path):
    (tmp_path / "empty").mkdir()
    with pytest.raises(StoreError, match=r"holds no session\.toml"):
        store.add_session(tmp_path / "empty", by="Ann")
    with pytest.raises(StoreError, match=r"holds no session\.toml"):
        store.add_session(tmp_path / "nowhere", by="Ann")
    assert nothing_came(store)


def test_a_description_that_cannot_be_used_is_told_and_leaves_nothing(store, folder):
    (folder / "session.toml").write_text("schema = ", encoding="utf-8")
    with pytest.raises(InputError) as told:
        store.add_session(folder, by="Ann")
    assert told.value.problems[0].code == "invalid_session_file"
    (folder / "session.toml").write_text("[session]\ndate = 2026-03-02\n", encoding="utf-8")
    with pytest.raises(InputError, match="no trials"):
        store.add_session(folder, by="Ann")
    assert nothing_came(store)


@pytest.mark.parametrize("target", ["../secret.csv", "trials/sin-0.5.csv", "nowhere"])
def test_a_link_in_the_folder_is_refused_wherever_it_leads(store, folder, target):
    (folder.parent / "secret.csv").write_text("secret", encoding="utf-8")
    (folder / "linked.csv").symlink_to(target)
    with pytest.raises(StoreError, match=r"linked\.csv is a link"):
        store.add_session(folder, by="Ann")
    assert nothing_came(store)


def test_a_linked_folder_in_the_session_is_refused(store, folder):
    (folder.parent / "elsewhere").mkdir()
    (folder / "more").symlink_to(folder.parent / "elsewhere", target_is_directory=True)
    with pytest.raises(StoreError, match="more is a link"):
        store.add_session(folder, by="Ann")


def test_a_link_that_takes_the_place_of_a_file_meanwhile_is_not_followed(
    store, folder, monkeypatch
):
    (folder.parent / "secret.csv").write_bytes((folder / "trials/sin-0.5.csv").read_bytes())
    real = intake.copy_file

    def swap_then_copy(source, target, moved):
        if source.name == "sin-0.5.csv":
            source.unlink()
            source.symlink_to(folder.parent / "secret.csv")
        return real(source, target, moved)

    monkeypatch.setattr(intake, "copy_file", swap_then_copy)
    with pytest.raises(StoreError):
        store.add_session(folder, by="Ann")
    assert nothing_came(store)


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="needs pipes")
def test_a_pipe_in_the_folder_is_refused_and_not_waited_for(store, folder):
    os.mkfifo(folder / "pipe.csv")
    with pytest.raises(StoreError, match=r"pipe\.csv is no regular file"):
        store.add_session(folder, by="Ann")


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("Trace.csv", "trace.csv"),
        ("a/x.csv", "A/x.csv"),
        ("é.csv", "e\u0301.csv"),
        ("ß.txt", "SS.txt"),
    ],
)
def test_names_that_some_systems_take_for_one_are_refused(store, folder, one, other):
    for name in (one, other):
        (folder / name).parent.mkdir(exist_ok=True)
        (folder / name).write_text(name, encoding="utf-8")
    with pytest.raises(StoreError, match="differ only in case or accents"):
        store.add_session(folder, by="Ann")
    assert nothing_came(store)


def test_a_name_that_is_no_utf_8_is_refused(store, folder):
    try:
        (Path(os.fsdecode(os.fsencode(folder) + b"/\xff.csv"))).write_text("x", encoding="utf-8")
    except OSError:
        pytest.skip("this system takes only names in UTF-8")
    with pytest.raises(StoreError, match="expected a file name in UTF-8"):
        store.add_session(folder, by="Ann")


def test_the_longest_name_that_the_system_takes_is_kept(store, folder):
    name = "x" * 251 + ".csv"
    (folder / name).write_text("1", encoding="utf-8")
    row = store.add_session(folder, by="Ann")
    assert name in [file.path for file in row.files]
    assert store.check_files(row.id) == ()


def test_a_path_that_gets_too_long_is_told_and_leaves_nothing(tmp_path, folder):
    deep = tmp_path
    while len(str(deep)) < 3500:
        deep = deep / ("d" * 200)
    with pytest.raises(StoreError, match="expected a path of at most"):
        Store.open(deep)
    store = Store.open(tmp_path / ("d" * 200))
    try:
        inside = folder / Path(*["e" * 200] * ((4050 - len(str(folder))) // 201))
        inside.mkdir(parents=True)
        (inside / "x.csv").write_text("1", encoding="utf-8")
        with pytest.raises(StoreError, match="a name is too long"):
            store.add_session(folder, by="Ann")
        assert nothing_came(store)
    finally:
        store.close()


def test_folders_that_are_nested_without_end_are_refused(store, folder):
    inside = folder / Path(*["d"] * 60)
    inside.mkdir(parents=True)
    (inside / "x.csv").write_text("1", encoding="utf-8")
    with pytest.raises(StoreError, match="lies more than 50 folders deep"):
        store.add_session(folder, by="Ann")
    assert nothing_came(store)


def test_a_path_that_leaves_the_folder_brings_nothing_from_outside(store, folder):
    secret = folder.parent / "secret.csv"
    secret.write_text("t,chair,eye\n0,0,0\n", encoding="utf-8")
    text = (folder / "session.toml").read_text(encoding="utf-8")
    text += '[[trial]]\nid = "x"\nkind = "spontaneous"\nvision = "dark"\nfile = "../secret.csv"\n'
    (folder / "session.toml").write_text(text, encoding="utf-8")
    row = store.add_session(folder, by="Ann")
    assert [file.path for file in row.files] == ["session.toml", "trials/sin-0.5.csv"]
    assert not (store.data.sessions / "secret.csv").exists()


def test_an_import_that_is_cancelled_leaves_nothing(store, folder):
    with pytest.raises(StoreCancelled):
        store.add_session(folder, by="Ann", cancelled=lambda: True)
    assert nothing_came(store)


def test_progress_rises_to_the_whole_and_names_the_files(store, folder):
    said = []
    store.add_session(folder, by="Ann", progress=lambda share, what: said.append((share, what)))
    shares = [share for share, _ in said]
    assert shares == sorted(shares)
    assert shares[-1] == pytest.approx(1.0)
    assert {what for _, what in said} == {"session.toml", "trials/sin-0.5.csv"}


def test_a_file_that_grows_while_it_is_copied_is_refused(store, folder, monkeypatch):
    real = intake.copy_file

    def grow_then_copy(source, target, moved):
        with source.open("ab") as stream:
            stream.write(b"9,9,9\n")
        return real(source, target, moved)

    monkeypatch.setattr(intake, "copy_file", grow_then_copy)
    with pytest.raises(StoreError, match="was changed while it was copied"):
        store.add_session(folder, by="Ann")
    assert nothing_came(store)


def test_a_copy_that_reads_differently_is_refused(store, folder, monkeypatch):
    real = intake.digest_of_file
    monkeypatch.setattr(intake, "digest_of_file", lambda file, moved: (real(file)[0], "0" * 64))
    with pytest.raises(StoreError, match="reads differently from its copy"):
        store.add_session(folder, by="Ann")
    assert nothing_came(store)


def test_rows_that_cannot_be_written_take_the_files_with_them(store, folder, monkeypatch):
    def fails(*_args, **_more):
        raise StoreError("no")

    monkeypatch.setattr("slowphase.store.arrival._file", fails)
    with pytest.raises(StoreError, match="no"):
        store.add_session(folder, by="Ann")
    assert nothing_came(store)


def test_an_error_after_the_commit_removes_no_file_of_a_session_that_has_rows(
    store, folder, monkeypatch
):
    real = type(store.database).writing
    import contextlib

    @contextlib.contextmanager
    def fails_late(database):
        with real(database) as rows:
            yield rows
        monkeypatch.undo()
        raise KeyboardInterrupt

    monkeypatch.setattr(type(store.database), "writing", fails_late)
    with pytest.raises(KeyboardInterrupt):
        store.add_session(folder, by="Ann")
    (patient,) = store.patients()
    assert store.check_files(patient.sessions[0].id) == ()


def test_what_cannot_be_synced_is_not_confirmed(store, folder, monkeypatch):
    def fails(_number):
        raise OSError(errno.EIO, "Input/output error")

    monkeypatch.setattr(os, "fsync", fails)
    with pytest.raises(StoreError, match="the disk reports an error"):
        store.add_session(folder, by="Ann")
    monkeypatch.undo()
    assert nothing_came(store)


def test_without_a_patient_the_code_decides_and_merged_ones_are_followed(store, tmp_path):
    def add(name, code, **more):
        return store.add_session(write_small_session(tmp_path / name, code), by="Ann", **more)

    first, second = add("a", "K-1"), add("b", "K-2")
    assert add("c", "K-1").patient == first.patient
    store.merge_patients(second.patient, first.patient, by="Ann", reason="same")
    assert add("d", "K-2").patient == first.patient
    store.move_session(first.id, None, by="Ann", reason="another person")
    with pytest.raises(StoreConflict, match="2 patients have the code K-1"):
        add("e", "K-1")
    assert add("f", "K-1", patient=first.patient).patient == first.patient
    with pytest.raises(StoreMissing, match="was merged into"):
        add("g", "K-1", patient=second.patient)
    with pytest.raises(StoreMissing, match="there is no patient"):
        add("h", "K-1", patient="nobody")


def test_names_and_titles_are_checked_before_anything_is_copied(store, folder):
    for words in ({"by": " "}, {"by": "A\x00"}, {"by": "x" * 201}, {"by": "A", "title": "x" * 301}):
        with pytest.raises(StoreError, match="expected a"):
            store.add_session(folder, **words)
    assert nothing_came(store)


def test_files_of_an_import_lie_apart_until_they_are_discarded(store, folder):
    made = store.new_import()
    place = store.import_folder(made)
    write_small_session(place / "session")
    assert store.imports() == (made,)
    row = store.add_session(place / "session", by="Ann")
    store.discard_import(made)
    assert store.imports() == ()
    assert store.check_files(row.id) == ()
    for name in (made, "../sessions", "..", ""):
        with pytest.raises(StoreMissing):
            store.import_folder(name)


def test_a_session_is_made_of_its_folder_also_through_a_link_to_it(store, folder, tmp_path):
    (tmp_path / "link").symlink_to(folder, target_is_directory=True)
    assert store.add_session(tmp_path / "link", by="Ann").files


@pytest.mark.parametrize("name", ["100% & more", "what?", "Ünï cödé #1", "a'b\"c;d"])
def test_the_folder_of_the_store_may_have_any_name(tmp_path, folder, name):
    store = Store.open(tmp_path / name)
    row = store.add_session(folder, by="Ann")
    store.close()
    again = Store.open(tmp_path / name)
    assert again.session(row.id) == row
    assert again.check() == ()
    assert again.backup(tmp_path / f"{name}.zip").problems == ()
    again.close()
    assert sorted(path.name for path in tmp_path.iterdir()) == sorted([name, f"{name}.zip", "came"])
