"""Drafts come and go; a signed version stays as it was signed."""

import json
import sqlite3
from contextlib import closing

import pytest

from slowphase.signing.decisions import Decisions
from slowphase.signing.record import open_record
from slowphase.store import StoreConflict, StoreError
from tests.store.small_session import sealed


def signed(store, session, number=1, **more):
    """Sign the next version; returns its record."""
    before = None
    if number > 1:
        before = open_record(store.versions(session)[-1].record_text, "last")
    made = sealed(number, before, **more)
    store.keep_version(session, *made, by="Ann")
    return open_record(made[0], "made")


def test_versions_come_back_byte_for_byte_with_who_signed_and_when(store, session):
    record, page = sealed(page="<p>Größe 5 µV\r\n</p>\n", by="A. Meyer, audiologist")
    version = store.keep_version(session.id, record, page, by="Ann")
    assert store.versions(session.id) == (version,)
    assert (version.record_text, version.page_html) == (record, page)
    assert (version.by, version.at) == ("A. Meyer, audiologist", "2026-03-03T10:00:00+01:00")
    entry = store.log(limit=1)[0]
    assert (entry.what, entry.by, entry.detail["version"]) == ("reading_signed", "Ann", 1)
    assert entry.detail["reading_digest"] == open_record(record, "r").reading_digest


def test_a_second_version_names_the_first(store, session):
    first = signed(store, session.id)
    second = signed(store, session.id, 2)
    assert second.content["replaces"]["digest"] == first.digest
    assert [version.number for version in store.versions(session.id)] == [1, 2]
    assert store.session(session.id).signed_version == 2


def test_of_two_who_sign_the_same_version_the_second_is_told(store, session):
    signed(store, session.id)
    with pytest.raises(StoreConflict, match="version 1 cannot be signed: 1 versions are"):
        signed(store, session.id)
    with pytest.raises(StoreConflict, match="version 3 cannot be signed"):
        store.keep_version(session.id, *sealed(3), by="Ann")
    assert len(store.versions(session.id)) == 1


def test_what_is_no_whole_record_is_refused(store, session):
    record, page = sealed()
    changed = record.replace("A. Meyer", "E. Meyer")
    with pytest.raises(StoreError, match="was changed after it was signed"):
        store.keep_version(session.id, changed, page, by="Ann")
    with pytest.raises(StoreError, match="page of version 1 was changed"):
        store.keep_version(session.id, record, page + " ", by="Ann")
    with pytest.raises(StoreError, match="is no signed record"):
        store.keep_version(session.id, "{}", page, by="Ann")
    signed(store, session.id)
    with pytest.raises(StoreError, match="does not follow on version 1"):
        store.keep_version(
            session.id, *sealed(2, open_record(sealed(by="B. Meyer")[0], "other")), by="Ann"
        )
    assert len(store.versions(session.id)) == 1


def test_a_version_that_was_changed_behind_the_store_s_back_is_found(store, session):
    signed(store, session.id)
    store.database.close()
    with closing(sqlite3.connect(store.data.database)) as opened:
        opened.execute("DROP TRIGGER readings_no_update")
        opened.execute("UPDATE readings SET page_html = replace(page_html, 'reading', 'lie')")
        opened.commit()
    (problem,) = store.check()
    assert problem.code == "signed_version_changed"
    assert "the page of version 1 was changed after it was signed" in problem.message


def test_a_draft_is_kept_in_place_of_the_last_and_only_changes_are_logged(store, session):
    assert store.draft(session.id) == Decisions()
    store.save_draft(session.id, Decisions(), by="Ann")
    assert not store.session(session.id).draft
    one = Decisions({"summary": "short"}, {"weak": "too early to say"}, "Größe")
    for _ in range(3):
        store.save_draft(session.id, one, by="Ann")
    assert store.draft(session.id) == one
    store.save_draft(session.id, Decisions(), by="Bea")
    assert store.draft(session.id) == Decisions()
    saved = [entry for entry in store.log() if entry.what == "draft_saved"]
    assert [entry.by for entry in saved] == ["Bea", "Ann"]


def test_the_log_of_a_draft_names_what_was_decided_and_repeats_no_text(store, session):
    store.save_draft(session.id, Decisions({"summary": "private"}, {}, "secret"), by="Ann")
    told = json.dumps(dict(store.log(limit=1)[0].detail))
    assert "summary" in told
    assert "private" not in told
    assert "secret" not in told


def test_texts_with_control_signs_are_refused(store, session):
    for decisions in (
        Decisions(remark="a\x00"),
        Decisions({"summary": "\x07"}),
        Decisions({}, {"x": "\ud800"}),
    ):
        with pytest.raises(StoreError, match="without control signs"):
            store.save_draft(session.id, decisions, by="Ann")
