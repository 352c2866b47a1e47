"""The store on the command line: checked, backed up, restored, and its log read."""

import pytest

from slowphase.store import Store
from tests.cli.command_line import start
from tests.store.small_session import write_small_session


@pytest.fixture
def data(tmp_path):
    store = Store.open(tmp_path / "data")
    row = store.add_session(write_small_session(tmp_path / "came"), by="Ann")
    store.move_session(row.id, None, by="Bea", reason="another person")
    store.reverse(store.log(limit=1)[0].id, by="Bea", reason="it was right")
    store.close()
    return tmp_path / "data"


def test_a_backup_is_made_restored_and_checked_by_one_command_each(data, tmp_path):
    made = start("store", "backup", data, tmp_path / "kept.zip")
    assert (made.exit_code, made.stderr) == (0, "")
    assert made.stdout.startswith(f"{tmp_path / 'kept.zip'}: 3 files, ")
    assert "A backup holds patient data and is not encrypted" in made.stdout
    restored = start("store", "restore", tmp_path / "kept.zip", tmp_path / "again")
    assert (restored.exit_code, restored.stderr) == (0, "")
    assert restored.stdout == "1 patients, 1 sessions: everything is as it was confirmed\n"
    assert start("store", "check", tmp_path / "again").stdout == restored.stdout


def test_the_log_is_listed_the_newest_first(data):
    listed = start("store", "log", data)
    lines = listed.stdout.splitlines()
    assert listed.exit_code == 0
    assert [line.split()[0] for line in lines] == ["3", "2", "1"]
    assert " Ann: added the session of 2026-03-02 of K-0417, 2 files [patient " in lines[2]
    assert " Bea: moved a session from K-0417" in lines[1]
    assert lines[1].endswith("(reversed by 3)")
    assert len(start("store", "log", data, "--limit", "1").stdout.splitlines()) == 1
    session = lines[2].split("[session ")[1].rstrip("]")
    assert len(start("store", "log", data, "--session", session).stdout.splitlines()) == 3
    assert start("store", "log", data, "--patient", "nobody").stdout == ""


def test_a_log_of_thousands_of_entries_is_listed_whole(tmp_path):
    store = Store.open(tmp_path / "data")
    with store.database.writing() as rows:
        from slowphase.store.change import Change

        change = Change(rows, "Ann", "2026-03-02T14:05:00+01:00")
        for number in range(2500):
            change.log("map_saved", f"saved map {number}")
    store.close()
    assert len(start("store", "log", tmp_path / "data").stdout.splitlines()) == 2500
    part = start("store", "log", tmp_path / "data", "--limit", "1500").stdout.splitlines()
    assert (len(part), part[-1].split()[0]) == (1500, "1001")


def test_the_store_may_be_in_use_meanwhile(data, tmp_path):
    store = Store.open(data)
    try:
        for words in (("check", data), ("log", data), ("backup", data, tmp_path / "kept")):
            assert start("store", *words).exit_code == 0
    finally:
        store.close()


def test_a_changed_file_is_named_and_ends_with_1(data, tmp_path):
    (file,) = data.glob("sessions/*/trials/sin-0.5.csv")
    file.chmod(0o600)
    file.write_text("changed", encoding="utf-8")
    for words in (("check", data), ("backup", data, tmp_path / "kept")):
        found = start("store", *words)
        assert found.exit_code == 1
        assert "original_changed: " in found.stderr
        assert "trials/sin-0.5.csv" in found.stderr
    assert (tmp_path / "kept").is_dir()


def test_a_wrong_call_is_told_in_one_line_and_ends_with_2(data, tmp_path):
    (tmp_path / "text.zip").write_text("no zip", encoding="utf-8")
    for words in (
        ("check", tmp_path / "nowhere"),
        ("log", tmp_path),
        ("backup", data, data / "kept.zip"),
        ("backup", data, tmp_path),
        ("restore", tmp_path / "text.zip", tmp_path / "again"),
        ("restore", tmp_path / "nothing.zip", tmp_path / "again"),
        ("restore", tmp_path / "text.zip", data),
    ):
        found = start("store", *words)
        assert (found.exit_code, found.stdout) == (2, ""), words
        assert len(found.stderr.splitlines()) == 1, words
    assert start("store", "log", data, "--limit", "0").exit_code == 2
    assert start("store").exit_code == 2
