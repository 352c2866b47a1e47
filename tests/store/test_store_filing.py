"""Sessions get to the right patient, and every way back leads exactly to where they were."""

import shutil

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from slowphase.store import Store, StoreConflict, StoreError, StoreMissing
from tests.store.small_session import write_small_session

WHY = {"by": "Ann", "reason": "the same person"}


@pytest.fixture
def patients(store, tmp_path):
    """Ids of two patients: the first with two sessions and notes, the second with one and notes."""
    rows = [
        store.add_session(write_small_session(tmp_path / "came" / name, code), by="Ann")
        for name, code in (("a", "K-1"), ("b", "K-1"), ("c", "K-2"))
    ]
    first, second = rows[0].patient, rows[2].patient
    store.save_course_notes(first, "first notes", by="Ann")
    store.save_course_notes(second, "second notes\n", by="Ann")
    return first, second


def shown(store):
    """Everything about patients that a person sees, the log apart."""
    rows = store.patients()
    return rows, {row.id: store.course_notes(row.id) for row in rows}


def last_entry(store):
    return store.log(limit=1)[0]


def test_a_merge_files_all_sessions_and_notes_under_one_patient(store, patients):
    first, second = patients
    store.merge_patients(second, first, **WHY)
    (row,) = store.patients()
    assert (row.id, row.code, len(row.sessions)) == (first, "K-1", 3)
    assert store.course_notes(first) == "first notes\n\nsecond notes\n"
    with pytest.raises(StoreMissing, match=f"was merged into {first}"):
        store.patient(second)
    entry = last_entry(store)
    assert entry.what == "patients_merged"
    assert entry.text == "merged K-2 into K-1 (1 sessions): the same person"
    assert entry.reversible


def test_a_merge_that_is_reversed_leaves_everything_as_it_was(store, patients):
    before = shown(store)
    store.merge_patients(*patients, **WHY)
    merged = last_entry(store)
    store.reverse(merged.id, by="Bea", reason="two people")
    assert shown(store) == before
    entry, undone = store.log(limit=2)
    assert (entry.what, entry.reverses, entry.by) == ("reversed", merged.id, "Bea")
    assert (undone.reversed_by, undone.reversible) == (entry.id, False)


def test_a_moved_session_is_filed_under_the_other_patient_and_comes_back(store, patients):
    first, second = patients
    before = shown(store)
    session = store.patient(second).sessions[0].id
    assert store.move_session(session, first, **WHY).patient == first
    assert [len(row.sessions) for row in map(store.patient, patients)] == [3, 0]
    store.reverse(last_entry(store).id, **WHY)
    assert shown(store) == before


def test_a_new_patient_of_a_move_goes_again_when_the_move_is_reversed(store, patients):
    before = shown(store)
    session = before[0][0].sessions[0].id
    made = store.move_session(session, None, **WHY).patient
    assert made not in patients
    assert store.patient(made).code == store.session(session).told_code
    store.reverse(last_entry(store).id, **WHY)
    assert shown(store) == before
    with pytest.raises(StoreMissing):
        store.patient(made)


def test_a_new_patient_who_got_more_since_stays_when_the_move_is_reversed(store, patients):
    first, _second = patients
    session, other = (row.id for row in store.patient(first).sessions)
    made = store.move_session(session, None, **WHY).patient
    moved = last_entry(store)
    store.move_session(other, made, **WHY)
    store.reverse(moved.id, **WHY)
    assert [row.id for row in store.patient(made).sessions] == [other]
    assert store.session(session).patient == first


def test_the_code_of_the_file_stands_beside_that_of_the_patient(store, patients):
    first, second = patients
    session = store.patient(second).sessions[0].id
    row = store.move_session(session, first, **WHY)
    assert (row.told_code, store.patient(first).code) == ("K-2", "K-1")


def test_only_merges_and_moves_can_be_reversed(store, patients):
    entry = store.log()[-1]
    assert not entry.reversible
    with pytest.raises(StoreError, match="not reversible"):
        store.reverse(entry.id, **WHY)
    with pytest.raises(StoreMissing, match="there is no entry 999"):
        store.reverse(999, **WHY)
    store.merge_patients(*patients, **WHY)
    merged = last_entry(store).id
    store.reverse(merged, **WHY)
    with pytest.raises(StoreConflict, match="was reversed already, by entry"):
        store.reverse(merged, **WHY)
    with pytest.raises(StoreError, match="not reversible"):
        store.reverse(last_entry(store).id, **WHY)


def test_a_later_move_of_the_session_stands_in_the_way_and_is_named(store, patients):
    first, second = patients
    store.merge_patients(second, first, **WHY)
    merged = last_entry(store)
    session = merged.detail["sessions"][0]
    store.move_session(session, None, by="Ann", reason="another one")
    moved = last_entry(store)
    with pytest.raises(StoreConflict) as told:
        store.reverse(merged.id, **WHY)
    assert f"the session {session} was moved since" in str(told.value)
    assert f"reverse entry {moved.id} (moved a session" in str(told.value)
    store.reverse(moved.id, **WHY)
    store.reverse(merged.id, **WHY)
    assert store.session(session).patient == second


def test_a_later_merge_of_the_patient_stands_in_the_way_and_is_named(store, patients, tmp_path):
    first, second = patients
    session = store.patient(first).sessions[0].id
    store.move_session(session, second, **WHY)
    moved = last_entry(store).id
    store.merge_patients(first, second, **WHY)
    merged = last_entry(store).id
    with pytest.raises(StoreConflict, match=rf"was merged .*reverse entry {merged} \("):
        store.reverse(moved, **WHY)


def test_notes_that_were_changed_since_a_merge_stand_in_the_way(store, patients):
    first, second = patients
    store.merge_patients(second, first, **WHY)
    merged = last_entry(store).id
    store.save_course_notes(first, "written since", by="Ann")
    with pytest.raises(StoreConflict, match="notes on the course were changed since"):
        store.reverse(merged, **WHY)
    assert store.course_notes(first) == "written since"


def test_a_merge_of_patients_without_notes_is_reversed_too(store, tmp_path):
    one, two = (
        store.add_session(write_small_session(tmp_path / code, code), by="Ann").patient
        for code in ("K-1", "K-2")
    )
    store.save_course_notes(one, "only here", by="Ann")
    before = shown(store)
    store.merge_patients(one, two, **WHY)
    assert store.course_notes(two) == "only here"
    store.reverse(last_entry(store).id, **WHY)
    assert shown(store) == before


def test_wrong_merges_and_moves_are_refused(store, patients):
    first, second = patients
    session = store.patient(first).sessions[0].id
    before = shown(store), store.log()
    with pytest.raises(StoreError, match="cannot be merged with itself"):
        store.merge_patients(first, first, **WHY)
    with pytest.raises(StoreError, match="is filed under this patient already"):
        store.move_session(session, first, **WHY)
    for wrong in (lambda: store.merge_patients("nobody", first, **WHY),
                  lambda: store.move_session("nothing", first, **WHY),
                  lambda: store.move_session(session, "nobody", **WHY)):  # fmt: skip
        with pytest.raises(StoreMissing, match="there is no"):
            wrong()
    with pytest.raises(StoreError, match="reason is"):
        store.merge_patients(first, second, by="Ann", reason=" \n ")
    assert (shown(store), store.log()) == before


def test_the_log_of_a_patient_holds_those_of_merged_ones_and_of_moved_sessions(store, patients):
    first, second = patients
    session = store.patient(second).sessions[0].id
    store.add_edit(session, "set_aside", "sin-0.5", {}, by="Ann", reason="dizzy", expected=0)
    store.merge_patients(second, first, **WHY)
    whats = [entry.what for entry in store.log(patient=first)]
    assert whats.count("session_added") == 3
    assert {"patients_merged", "edit_added", "course_notes_saved"} <= set(whats)


@pytest.fixture(scope="module")
def template(tmp_path_factory):
    """A closed store with four patients and six sessions."""
    place = tmp_path_factory.mktemp("filing")
    store = Store.open(place / "data")
    for number in range(6):
        folder = write_small_session(place / str(number), f"K-{number % 4}", rows=60)
        store.add_session(folder, by="Ann")
    for number, row in enumerate(store.patients()[:2]):
        store.save_course_notes(row.id, f"notes {number}", by="Ann")
    store.close()
    return place / "data"


STEP = st.tuples(st.sampled_from(["merge", "move", "new"]), st.integers(0, 9), st.integers(0, 9))


@settings(max_examples=25)
@given(steps=st.lists(STEP, min_size=1, max_size=8))
def test_taking_everything_back_from_the_last_leads_through_each_state_before(
    template, tmp_path_factory, steps
):
    place = tmp_path_factory.mktemp("run") / "data"
    shutil.copytree(template, place)
    store = Store.open(place)
    states = []
    for step in steps:
        before = shown(store)
        if _took(store, *step):
            states.append((before, last_entry(store).id))
        _check_filed_once(store)
    for before, entry in reversed(states):
        store.reverse(entry, **WHY)
        assert shown(store) == before
    assert store.check() == ()
    store.close()


def _took(store, kind, one, other):
    """Do one step between any of the patients; False where it makes no sense."""
    rows = store.patients()
    source, into = rows[one % len(rows)], rows[other % len(rows)]
    try:
        if kind == "merge":
            store.merge_patients(source.id, into.id, **WHY)
        elif source.sessions:
            target = None if kind == "new" else into.id
            store.move_session(source.sessions[other % len(source.sessions)].id, target, **WHY)
        else:
            return False
    except StoreError:
        return False
    return True


def _check_filed_once(store):
    filed = [session.id for row in store.patients() for session in row.sessions]
    assert len(filed) == len(set(filed)) == 6
    assert all(
        store.session(one).patient == store.patient(store.session(one).patient).id for one in filed
    )
