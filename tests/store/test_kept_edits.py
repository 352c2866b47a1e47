"""The edits of a session: checked, counted, never lost to somebody else's."""

import threading

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from slowphase.edits import Edits, read_edits, write_edits
from slowphase.foundation.errors import InputError
from slowphase.store import Store, StoreConflict, StoreError, StoreMissing
from tests.store.small_session import write_small_session

TRIAL, SPAN = "sin-0.5", {"start_s": 0.25, "stop_s": 0.5}
WHO = {"by": "Ann", "reason": "nurse"}


def test_the_edits_are_those_that_a_file_of_them_holds(store, session, tmp_path):
    store.add_edit(session.id, "exclude", TRIAL, SPAN, expected=0, **WHO)
    store.add_edit(
        session.id, "stimulus", TRIAL, {"key": "frequency_hz", "value": 0.25}, expected=1, **WHO
    )
    store.undo(session.id, by="Bea", expected=2)
    edits = store.edits(session.id)
    write_edits(edits, tmp_path / "edits.json")
    assert read_edits(tmp_path / "edits.json") == edits
    assert [(e.id, e.kind, e.trial, e.by, e.reason) for e in edits.log] == [
        (1, "exclude", TRIAL, "Ann", "nurse"),
        (2, "stimulus", TRIAL, "Ann", "nurse"),
        (3, "take_back", None, "Bea", "undo"),
    ]
    assert [edit.id for edit in edits.active] == [1]


def test_undo_and_redo_are_entries_as_well_and_end_where_there_is_nothing_more(store, session):
    with pytest.raises(StoreConflict, match="no edit to take back"):
        store.undo(session.id, by="Ann", expected=0)
    with pytest.raises(StoreConflict, match="no edit to bring back"):
        store.redo(session.id, by="Ann", expected=0)
    made = store.add_edit(session.id, "exclude", TRIAL, SPAN, expected=0, **WHO)
    undone = store.undo(session.id, by="Ann", expected=1)
    redone = store.redo(session.id, by="Ann", expected=2)
    assert (len(redone.log), undone.active, redone.active) == (3, (), made.active)
    assert redone.digest() == made.digest()
    with pytest.raises(StoreConflict):
        store.redo(session.id, by="Ann", expected=3)
    assert [entry.what for entry in store.log(session=session.id)][:3] == [
        "edit_redone", "edit_undone", "edit_added",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("kind", "trial", "values", "told"),
    [
        ("polish", TRIAL, {}, "the kind is not known"),
        ("exclude", None, SPAN, "trial is missing"),
        ("exclude", TRIAL, {"start_s": 1.0}, "stop_s is missing"),
        ("exclude", TRIAL, {"start_s": 2.0, "stop_s": 1.0}, "stop_s is not after start_s"),
        ("exclude", TRIAL, {**SPAN, "colour": "red"}, "is no key of exclude"),
        ("eye", TRIAL, {"eye": "third"}, "eye is wrong"),
        ("take_back", None, {"of": 7}, "of names no earlier edit"),
        ("exclude", "a\x00b\x07", {**SPAN, "start_s": "x"}, "start_s is wrong"),
    ],
)
def test_a_wrong_edit_is_refused_with_what_would_be_right(
    store, session, kind, trial, values, told
):
    with pytest.raises(InputError, match=told) as error:
        store.add_edit(session.id, kind, trial, values, expected=0, **WHO)
    assert {problem.code for problem in error.value.problems} == {"invalid_edit"}
    assert store.edits(session.id) == Edits()
    assert len(store.log()) == 1


@pytest.mark.parametrize(
    "values",
    [
        {"start_s": float("nan"), "stop_s": 1.0},
        {"start_s": 0.0, "stop_s": float("inf")},
        {"start_s": object()},
        {"by": "Eve"},
        {"at": "2020-01-01", "id": 5},
    ],
)
def test_values_that_are_no_plain_data_or_forge_a_signature_are_refused(store, session, values):
    with pytest.raises(StoreError):
        store.add_edit(session.id, "exclude", TRIAL, values, expected=0, **WHO)
    assert store.edits(session.id) == Edits()


def test_who_did_not_see_the_last_edit_is_told_so(store, session):
    store.add_edit(session.id, "exclude", TRIAL, SPAN, expected=0, **WHO)
    for change in (
        lambda: store.add_edit(session.id, "set_aside", TRIAL, {}, expected=0, **WHO),
        lambda: store.undo(session.id, by="Bea", expected=0),
        lambda: store.redo(session.id, by="Bea", expected=2),
    ):
        with pytest.raises(StoreConflict, match=r"expected \d entries, found 1"):
            change()
    assert len(store.edits(session.id).log) == 1


def test_of_many_who_edit_at_once_one_comes_first_and_the_others_are_told(store, session):
    outcomes, start = [], threading.Barrier(8)

    def edit(number):
        start.wait()
        span = {"start_s": float(number), "stop_s": number + 0.5}
        try:
            store.add_edit(session.id, "exclude", TRIAL, span, expected=0, **WHO)
            outcomes.append("added")
        except StoreConflict:
            outcomes.append("conflict")

    threads = [threading.Thread(target=edit, args=(number,)) for number in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(outcomes) == ["added"] + ["conflict"] * 7
    assert len(store.edits(session.id).log) == 1


def test_edits_of_a_session_that_is_not_there_are_told(store):
    for ask in (store.edits, store.draft, store.versions, store.session, store.check_files,
                lambda name: store.undo(name, by="Ann", expected=0)):  # fmt: skip
        with pytest.raises(StoreMissing, match="there is no session"):
            ask("nothing")


@pytest.fixture(scope="module")
def shared(tmp_path_factory):
    place = tmp_path_factory.mktemp("edits")
    store = Store.open(place / "data")
    yield store, write_small_session(place / "came", rows=60)
    store.close()


STEP = st.one_of(st.just("undo"), st.just("redo"), st.floats(0, 1e5, allow_nan=False, width=64))


@settings(max_examples=30)
@given(steps=st.lists(STEP, max_size=10))
def test_whatever_is_done_the_rows_make_the_same_log_that_was_handed_out(shared, steps):
    store, folder = shared
    session = store.add_session(folder, by="Ann").id
    edits = Edits()
    for step in steps:
        expected = len(edits.log)
        try:
            if step == "undo":
                edits = store.undo(session, by="Ann", expected=expected)
            elif step == "redo":
                edits = store.redo(session, by="Ann", expected=expected)
            else:
                values = {"start_s": step, "stop_s": step + 1.0}
                edits = store.add_edit(session, "exclude", TRIAL, values, expected=expected, **WHO)
        except StoreConflict:
            continue
        assert len(edits.log) == expected + 1
        assert store.edits(session) == edits
    assert store.session(session).edits == len(edits.log)
