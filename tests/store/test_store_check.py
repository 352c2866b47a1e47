"""What was changed behind the store's back is found and named."""

import sqlite3
from contextlib import closing

import pytest

from slowphase.store import Store


def original(store, session, name="trials/sin-0.5.csv"):
    file = store.session_folder(session.id) / name
    file.chmod(0o600)
    return file


def test_a_whole_store_has_no_problem(store, session):
    assert store.check() == ()
    assert store.check_files(session.id) == ()


@pytest.mark.parametrize("content", [b"", b"t,chair,eye\n", None])
def test_a_changed_file_is_named_with_what_was_found_and_expected(store, session, content):
    file = original(store, session)
    content = file.read_bytes()[:-2] + b"9\n" if content is None else content
    file.write_bytes(content)
    (problem,) = store.check_files(session.id)
    assert problem.code == "original_changed"
    assert problem.file == f"{session.id}/trials/sin-0.5.csv"
    assert f"{len(content)} bytes" in problem.message
    kept = {one.path: one for one in session.files}["trials/sin-0.5.csv"]
    assert kept.sha256 in problem.expected
    assert store.check() == (problem,)


def test_missing_strange_and_replaced_files_are_named(store, session, tmp_path):
    original(store, session).unlink()
    folder = store.session_folder(session.id)
    (folder / "more.txt").write_text("x", encoding="utf-8")
    description = original(store, session, "session.toml")
    (tmp_path / "copy.toml").write_bytes(description.read_bytes())
    description.unlink()
    description.symlink_to(tmp_path / "copy.toml")
    found = {(problem.code, problem.file) for problem in store.check_files(session.id)}
    assert found == {
        ("original_missing", f"{session.id}/trials/sin-0.5.csv"),
        ("original_unreadable", f"{session.id}/session.toml"),
        ("original_added", f"{session.id}/more.txt"),
    }


def test_a_folder_that_is_gone_is_named_file_by_file(store, session):
    store.session_folder(session.id).rename(store.data.root / "elsewhere")
    assert {problem.code for problem in store.check_files(session.id)} == {"original_missing"}


def test_rows_that_name_what_is_not_there_are_found(store, session):
    with closing(sqlite3.connect(store.data.database)) as opened:
        opened.execute("UPDATE sessions SET patient = 'nobody'")
        opened.commit()
    (problem,) = store.check()
    assert problem.code == "database_damaged"
    assert "rows name what is not there" in problem.message


def test_a_check_may_run_beside_a_program_that_works(store, session):
    look = Store.open(store.data.root, read_only=True)
    said = []
    assert look.check(lambda share, what: said.append((share, what))) == ()
    assert said == [(1.0, session.id)]
    look.close()


def test_what_a_system_puts_beside_the_sessions_is_left_alone(store, session):
    strange = store.data.sessions / ".DS_Store"
    strange.write_bytes(b"x")
    (store.data.incoming / "Thumbs.db").write_bytes(b"x")
    store.close()
    again = Store.open(store.data.root)
    assert strange.exists()
    assert again.check() == ()
    assert again.imports() == ()
    again.close()


def test_a_folder_whose_rows_never_came_goes_back_to_the_imports(store, session, folder):
    store.close()
    lost = store.data.sessions / "aaaaaaaaaa"
    folder.rename(lost)
    again = Store.open(store.data.root)
    assert again.imports() == ("aaaaaaaaaa",)
    assert (again.import_folder("aaaaaaaaaa") / "session.toml").exists()
    assert [row.id for patient in again.patients() for row in patient.sessions] == [session.id]
    again.close()
