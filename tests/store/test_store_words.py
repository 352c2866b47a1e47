"""Whatever text comes in, it is kept as it is or refused; it never breaks the store."""

import contextlib

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from slowphase.foundation.errors import SlowphaseError
from slowphase.signing.decisions import Decisions
from slowphase.store import Store, StoreError
from tests.store.small_session import write_small_session

ANY = st.text(st.characters(), max_size=30) | st.sampled_from(
    ["\ud800", "a\x00b", "' OR 1=1 --", "%", "\u202e", "\x1b[31m", "x" * 5000, "../..", "\r\n", ""]
)


@pytest.fixture(scope="module")
def clinic(tmp_path_factory):
    place = tmp_path_factory.mktemp("words")
    store = Store.open(place / "data")
    session = store.add_session(write_small_session(place / "came", rows=60), by="Ann")
    yield store, session
    store.close()


CALLS = {
    "patients": lambda s, r, a, b: s.patients(a),
    "patient": lambda s, r, a, b: s.patient(a),
    "session": lambda s, r, a, b: s.session(a),
    "folder": lambda s, r, a, b: s.session_folder(a),
    "files": lambda s, r, a, b: s.check_files(a),
    "import": lambda s, r, a, b: s.import_folder(a),
    "discard": lambda s, r, a, b: s.discard_import(a),
    "made": lambda s, r, a, b: s.made_folder(a),
    "forget": lambda s, r, a, b: s.forget_made(a),
    "kept": lambda s, r, a, b: s.kept_document(a, "key"),
    "keep": lambda s, r, a, b: s.keep_document(r.id, "key", {a: b}),
    "merge": lambda s, r, a, b: s.merge_patients(a, r.patient, by=b, reason=a),
    "move": lambda s, r, a, b: s.move_session(r.id, a, by="Ann", reason=b),
    "edit": lambda s, r, a, b: s.add_edit(
        r.id, "set_aside", a, {}, by="Ann", reason=b, expected=s.session(r.id).edits
    ),
    "stimulus": lambda s, r, a, b: s.add_edit(
        r.id, "stimulus", "x", {"key": a, "value": b}, by="Ann", reason="x",
        expected=s.session(r.id).edits,
    ),
    "values": lambda s, r, a, b: s.add_edit(
        r.id, a, "x", {b: a}, by="Ann", reason="x", expected=s.session(r.id).edits
    ),
    "draft": lambda s, r, a, b: s.save_draft(r.id, Decisions({a: b}, {}, a), by="Ann"),
    "sign": lambda s, r, a, b: s.keep_version(r.id, a, b, by="Ann"),
    "signer": lambda s, r, a, b: s.check_passphrase(a, b),
    "map": lambda s, r, a, b: s.save_map(a, b, by="Ann"),
    "reference": lambda s, r, a, b: s.add_reference_file(a, b, by=b),
    "removed": lambda s, r, a, b: s.remove_reference_file(a, by="Ann", reason=b),
    "notes": lambda s, r, a, b: s.save_course_notes(r.patient, a, by=b),
    "log": lambda s, r, a, b: s.log(patient=a, session=b),
}  # fmt: skip


@pytest.mark.parametrize("call", CALLS)
@settings(max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(one=ANY, other=ANY)
def test_any_text_is_kept_or_refused(clinic, call, one, other):
    store, session = clinic
    before = store.log(limit=10**6)
    done = False
    with contextlib.suppress(SlowphaseError):
        CALLS[call](store, session, one, other)
        done = True
    after = store.log(limit=10**6)
    assert after[len(after) - len(before) :] == before
    assert done or after == before
    assert store.session(session.id).files == session.files


def test_after_all_that_the_store_is_whole(clinic):
    store, _session = clinic
    assert store.check() == ()
    assert sorted(path.name for path in store.data.root.parent.iterdir()) == ["came", "data"]


def test_numbers_that_no_database_holds_are_refused(clinic):
    store, _session = clinic
    for call in (
        lambda: store.reverse(10**30, by="Ann", reason="x"),
        lambda: store.log(before=10**30),
        lambda: store.log(limit=10**30),
    ):
        with pytest.raises(StoreError, match="cannot be kept"):
            call()


def test_a_search_of_too_many_words_is_told(clinic):
    store, _session = clinic
    assert store.patients(" ".join(["k-0417"] * 100)) != ()
    with pytest.raises(StoreError, match="expected at most 30 words"):
        store.patients(" ".join(map(str, range(31))))
    with pytest.raises(StoreError, match="1000 characters"):
        store.patients("x" * 1001)
