"""Several threads use one store, as a server does."""

import threading
from functools import partial

from tests.store.small_session import write_small_session


def run_all(*works):
    """Run each in a thread of its own; raises the first error of any."""
    errors = []

    def guarded(work):
        try:
            work()
        except BaseException as error:
            errors.append(error)

    threads = [threading.Thread(target=guarded, args=(work,)) for work in works]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    if errors:
        raise errors[0]


def imports(store, folder):
    for _ in range(8):
        store.add_session(folder, by="Ann")


def edits(store, session):
    for number in range(25):
        span = {"start_s": float(number), "stop_s": number + 0.5}
        store.add_edit(session, "exclude", "sin-0.5", span, by="Bea", reason="x", expected=number)


def notes(store, patient):
    for number in range(25):
        store.save_course_notes(patient, str(number), by="Cid")


def reads(store):
    for _ in range(25):
        entries = store.log(limit=1000)
        rows = [row for patient in store.patients() for row in patient.sessions]
        assert all(len(row.files) == 2 for row in rows)
        assert len(rows) >= [entry.what for entry in entries].count("session_added")


def test_writers_take_turns_and_readers_always_see_whole_changes(store, session, tmp_path):
    folder = write_small_session(tmp_path / "came" / "more", "K-9", rows=60)
    run_all(
        partial(imports, store, folder),
        partial(edits, store, session.id),
        partial(notes, store, session.patient),
        *[partial(reads, store)] * 3,
    )
    assert len(store.log(limit=1000)) == 1 + 8 + 25 + 25
    assert store.session(session.id).edits == 25
    assert store.check() == ()


def test_many_readers_at_once_all_get_an_answer(store, session):
    run_all(*(lambda: [store.patients() for _ in range(10)] for _ in range(40)))
