"""What goes into the store comes out again, also after it was closed."""

import subprocess
import sys

from slowphase.recording.read import read_session
from slowphase.signing.decisions import Decisions
from slowphase.store import Store
from tests.store.small_session import sealed


def test_everything_that_was_kept_is_there_after_the_store_was_opened_anew(store, session):
    edits = store.add_edit(
        session.id, "exclude", "sin-0.5", {"start_s": 0.1, "stop_s": 0.2},
        by="Ann", reason="nurse", expected=0,
    )  # fmt: skip
    decisions = Decisions({"summary": "short"}, {"x": "not meant"}, "a remark")
    store.save_draft(session.id, decisions, by="Ann")
    version = store.keep_version(session.id, *sealed(), by="Ann")
    store.save_map("chair", "[columns]\n", by="Ann")
    store.add_reference_file("own", "[own]\n", by="Ann")
    store.save_course_notes(session.patient, "first dose in May", by="Ann")
    seen = (store.patients(), store.log(), store.maps(), store.reference_files())
    store.close()
    again = Store.open(store.data.root)
    try:
        assert (again.patients(), again.log(), again.maps(), again.reference_files()) == seen
        assert again.edits(session.id) == edits
        assert again.draft(session.id) == decisions
        assert again.versions(session.id) == (version,)
        assert again.course_notes(session.patient) == "first dose in May"
        row = again.session(session.id)
        assert (row.edits, row.signed_version, row.draft) == (1, 1, True)
        assert again.check() == ()
    finally:
        again.close()


def test_the_digest_of_the_input_is_that_of_the_session_as_it_is_read(store, session):
    read = read_session(store.session_folder(session.id))
    assert session.input_digest == read.input_digest


def test_a_document_that_was_kept_comes_back_with_the_same_numbers(store, session):
    document = {"measures": [0.1, 1 / 3, None], "text": "Müller"}
    store.keep_document(session.id, "settings/edits", document)
    assert store.kept_document(session.id, "settings/edits") == document
    assert store.kept_document(session.id, "other") is None
    store.forget_made(session.id)
    assert store.kept_document(session.id, "settings/edits") is None


def test_importing_the_store_loads_nothing_heavy():
    code = (
        "import sys, slowphase.store\n"
        "print(sorted({'sqlalchemy', 'alembic', 'argon2', 'numpy'} & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
