"""The log says who did what, when; nothing in it ever changes."""

import pytest

from slowphase.store import StoreConflict, StoreError, StoreMissing
from tests.store.small_session import sealed


def test_every_change_has_one_entry_with_who_when_and_what_in_plain_words(store, session):
    edit = {"by": "Bea", "reason": "talked to the nurse"}
    store.add_edit(session.id, "set_aside", "sin-0.5", {}, expected=0, **edit)
    store.undo(session.id, by="Bea", expected=1)
    store.keep_version(session.id, *sealed(), by="Cid")
    store.save_map("chair", "[columns]", by="Cid")
    store.add_reference_file("own", "[own]", by="Cid")
    store.remove_reference_file("own", by="Cid", reason="out of date")
    store.save_course_notes(session.patient, "notes", by="Cid")
    told = [(entry.by, entry.text) for entry in reversed(store.log())]
    assert told == [
        ("Ann", "added the session of 2026-03-02 of K-0417, 2 files"),
        ("Bea", "edited: set_aside on sin-0.5: talked to the nurse"),
        ("Bea", "took the last edit back"),
        ("Cid", "signed version 1 of the reading, as A. Meyer"),
        ("Cid", "saved the map chair"),
        ("Cid", "added the reference set own"),
        ("Cid", "removed the reference set own: out of date"),
        ("Cid", "saved the notes on the course"),
    ]
    assert [entry.id for entry in store.log()] == list(range(8, 0, -1))
    assert all(len(entry.at) == 25 for entry in store.log())


def test_the_log_is_read_in_parts_and_by_session(store, session):
    for number in range(5):
        store.save_map(f"chair {number}", "x", by="Ann")
    first = store.log(limit=2)
    assert [entry.id for entry in first] == [6, 5]
    assert [entry.id for entry in store.log(before=5, limit=2)] == [4, 3]
    assert [entry.what for entry in store.log(session=session.id)] == ["session_added"]
    assert store.log(session="nothing") == ()
    with pytest.raises(StoreError, match="expected 1 entry or more"):
        store.log(limit=0)


def test_a_change_that_fails_has_no_entry(store, session):
    before = store.log()
    for change, told in (
        (lambda: store.save_map("a/b", "x", by="Ann"), StoreError),
        (lambda: store.save_map("chair", "\x00", by="Ann"), StoreError),
        (lambda: store.save_map("chair", "x", by=""), StoreError),
        (lambda: store.undo(session.id, by="Ann", expected=0), StoreConflict),
        (lambda: store.remove_reference_file("own", by="Ann", reason="x"), StoreMissing),
        (lambda: store.save_course_notes("nobody", "x", by="Ann"), StoreMissing),
    ):
        with pytest.raises(told):
            change()
    assert store.log() == before


def test_texts_of_the_clinic_are_replaced_removed_and_added_again(store):
    store.save_map("chair", "one", by="Ann")
    store.save_map("chair", "two", by="Bea")
    (kept,) = store.maps()
    assert (kept.name, kept.text, kept.by) == ("chair", "two", "Bea")
    store.add_reference_file("own", "one", by="Ann")
    with pytest.raises(StoreConflict, match="there is a reference set own already"):
        store.add_reference_file("own", "two", by="Ann")
    store.remove_reference_file("own", by="Ann", reason="old")
    assert store.reference_files() == ()
    with pytest.raises(StoreMissing, match="there is no reference set 'own'"):
        store.remove_reference_file("own", by="Ann", reason="old")
    store.add_reference_file("own", "three", by="Ann")
    assert [kept.text for kept in store.reference_files()] == ["three"]


@pytest.mark.parametrize("name", ["", ".", "..", "a/b", "a\\b", "con:", "x" * 101, ".hidden", "a?"])
def test_a_name_that_could_not_be_that_of_a_file_is_refused(store, name):
    with pytest.raises(StoreError, match="expected a"):
        store.add_reference_file(name, "x", by="Ann")


def test_line_ends_and_signs_of_a_text_stay_as_they_were(store, session):
    text = "größe\r\n\t5 µV\n\n"
    store.save_course_notes(session.patient, text, by="Ann")
    store.save_map("chair", text, by="Ann")
    assert store.course_notes(session.patient) == text
    assert store.maps()[0].text == text
