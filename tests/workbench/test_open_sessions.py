"""Open sessions: what is held is bounded, what was kept may go, and everything is there again."""

import json
import time
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace

import numpy as np
import pytest
from served import BY, page_on

from slowphase.analysis.desk import kept_states
from slowphase.edits.edit import Edits
from slowphase.recording.trial import Recording, Trial
from slowphase.store import StoreError
from slowphase.workbench.jobs import Cancelled
from slowphase.workbench.opened import room as rooms
from slowphase.workbench.opened.memory import TraceMemory, give_back
from slowphase.workbench.traces.pyramid import make_pyramid
from tests.cli.command_line import start

WINDOW = {"channels": "eye_h_right,slow,fit"}


def room_of(page):
    return page.client.app.state.house.room


def small(n=1000):
    return make_pyramid(np.zeros(n, np.float32))


def test_memory_of_traces_is_bounded_and_what_is_looked_at_is_held_whole():
    memory = TraceMemory(limit=20_000)
    for number in range(10):
        memory.get((f"trial {number}", "a"), small)
    assert memory.nbytes <= 20_000 + small().nbytes
    for channel in "abcdefgh":
        memory.get(("looked at", channel), small)
    made = []
    for channel in "abcdefgh":
        memory.get(("looked at", channel), lambda: made.append(1) or small())
    assert made == []
    assert memory.get(("nowhere", "a"), lambda: None) is None
    give_back()


def test_what_was_kept_may_be_removed_and_is_made_again(store, page, chair):
    before = page.session(chair)
    path = f"sessions/{chair}/trials/sin-0.16"
    trial, window = page.get(path).json(), page.get(f"{path}/window", **WINDOW).content
    page.client.app.state.house.close()
    store.forget_made(chair)
    again = page_on(store)
    answer = again.get(f"sessions/{chair}").json()
    assert (answer["document"], bool(answer["job"])) == (None, True)
    assert again.session(chair) == before
    assert again.get(path).json() == trial
    assert again.get(f"{path}/window", **WINDOW).content == window
    again.client.app.state.house.close()


@pytest.mark.parametrize("broken", [b"", b"no parquet at all"])
def test_kept_traces_that_are_broken_are_made_again(store, page, chair, broken):
    page.session(chair)
    path = f"sessions/{chair}/trials/sin-0.16"
    window = page.get(f"{path}/window", **WINDOW).content
    page.client.app.state.house.close()
    for file in store.made_folder(chair).glob("*.parquet"):
        file.write_bytes(broken)
    again = page_on(store)
    first = again.get(f"{path}/window", **WINDOW)
    assert (first.status_code, first.json()["error"]["code"]) == (409, "not_measured")
    again.session(chair)
    assert again.get(f"{path}/window", **WINDOW).content == window
    again.client.app.state.house.close()


def test_kept_documents_that_are_broken_are_made_again(store, page, chair):
    before = page.session(chair)
    page.client.app.state.house.close()
    for file in store.made_folder(chair).glob("*.json"):
        file.write_bytes(file.read_bytes()[:100])
    again = page_on(store)
    assert again.session(chair) == before
    again.client.app.state.house.close()


def test_nothing_that_can_be_made_again_has_to_be_kept(store, page, chair, monkeypatch, caplog):
    def full(*_args):
        raise StoreError("the disk is full")

    monkeypatch.setattr(type(store), "keep_document", full)
    answer = page.session(chair)
    assert answer["document"]["trials"]
    told = page.edit(chair, "exclude", "sin-0.16", start_s=31.5, stop_s=36.0)
    assert told.status_code == 200
    assert page.get(f"sessions/{chair}/trials/sin-0.16/window", **WINDOW).status_code == 200
    assert "the disk is full" in caplog.text


def test_desks_of_other_sessions_are_given_up_when_memory_asks(store, page, folders, monkeypatch):
    monkeypatch.setattr(rooms, "DESK_BYTES", 1)
    ids = [store.add_session(folders[name], by="R. Doe").id for name in ("odd", "raw")]
    room = room_of(page)
    for id_ in ids:
        room.measure_now(id_, lambda *_: None)
    assert [room.open(id_).nbytes > 0 for id_ in ids] == [False, True]
    assert page.edit(ids[0], "set_aside", "paused").status_code == 200
    assert [room.open(id_).nbytes > 0 for id_ in ids] == [True, False]


def test_a_desk_that_was_given_up_leaves_what_was_changed(store, page, folders):
    session = store.add_session(folders["odd"], by="R. Doe").id
    page.session(session)
    told = page.edit(session, "exclude", "a/b window", start_s=10.0, stop_s=12.0).json()
    opened = room_of(page).open(session)
    assert opened.give_up()
    assert opened.nbytes == 0
    assert page.session(session)["document"] == told["document"]
    assert store.kept_document(session, room_of(page).wanted(session).key)


def test_work_that_nobody_waits_for_ends_when_another_session_is_opened(store, page, folders):
    ids = [store.add_session(folders[name], by="R. Doe").id for name in ("odd", "raw")]
    room = room_of(page)
    one = room.measure(ids[0], prepare_only=True)
    room.measure(ids[1], prepare_only=True)
    assert one.stop.is_set()
    other = room.measure(ids[1])
    room.measure(ids[0], prepare_only=True)
    assert not other.stop.is_set()
    while not other.ended:
        time.sleep(0.01)


def test_measuring_stops_where_it_is_asked_to_and_begins_again(store, page, folders):
    session = store.add_session(folders["odd"], by="R. Doe").id
    room, told = room_of(page), []

    def tell(what, _share):
        told.append(what)
        if what.startswith("measuring"):
            raise Cancelled

    with pytest.raises(Cancelled):
        room.measure_now(session, tell)
    assert room.open(session).shown(room.wanted(session).key) is None
    assert page.session(session)["document"]["trials"]
    assert any(what.startswith("reading") for what in told)


def test_a_long_trial_keeps_fewer_states_than_a_short_one():
    def trial(n):
        return Trial("a", "sinusoid", recording=Recording(np.zeros(n), 250.0, {}))

    assert kept_states(trial(75_000)) == 32
    assert kept_states(trial(1_800_000)) == 2
    assert kept_states(Trial("a", "values")) == 32


def test_old_states_are_pruned_and_what_is_shown_is_there_after_all(store, page, chair):
    page.session(chair)
    kept = room_of(page).open(chair).kept
    kept.prune(limit=0)
    assert list(store.made_folder(chair).iterdir()) == []
    assert page.get(f"sessions/{chair}").json()["document"]
    answer = page.get(f"sessions/{chair}/trials/step-left")
    assert answer.status_code in (200, 409)
    page.session(chair)
    assert page.get(f"sessions/{chair}/trials/step-left/window", **WINDOW).status_code == 200


def test_own_reference_sets_are_used_as_on_the_command_line(store, page, chair, folders, tmp_path):
    text = (
        '[set]\nid = "mine"\ncitation = "x"\nmark = "local"\npopulation = "healthy"\n'
        '[[entry]]\nmeasure = "gain"\nkind = "sinusoid"\nunit = "1"\ngroups = [{ lower = 0.1 }]\n'
    )
    page.session(chair)
    before = page.session(chair)["document"]["software"]["reference_digest"]
    store.add_reference_file("own.toml", text, by="R. Doe")
    after = page.session(chair)["document"]
    (tmp_path / "own.toml").write_text(text, encoding="utf-8")
    printed = start("analyze", folders["chair"], "--json", "--references", tmp_path).stdout
    assert after["software"]["reference_digest"] != before
    assert after == json.loads(printed)


def test_many_edits_at_once_are_all_there_or_refused(store, page, folders):
    session = store.add_session(folders["odd"], by="R. Doe").id
    page.session(session)

    def edit(number):
        body = {
            **BY, "kind": "exclude", "trial": "a/b window", "expected": 0,
            "values": {"start_s": float(number), "stop_s": number + 0.5},
        }  # fmt: skip
        return page.send("POST", f"sessions/{session}/edits", body).status_code

    with ThreadPoolExecutor(6) as pool:
        codes = list(pool.map(edit, range(1, 7)))
    assert sorted(codes) == [200, 409, 409, 409, 409, 409]
    assert len(store.edits(session).log) == 1
    assert page.session(session)["edits"]["count"] == 1


def test_a_state_is_named_by_all_that_it_is_made_of(store, page, chair):
    room = room_of(page)
    wanted = room.wanted(chair)
    signed = {"by": "a", "at": "2026-03-02T14:05:00+01:00", "reason": "r"}
    other = Edits().with_edit("set_aside", "step-left", **signed)
    another = Edits().with_edit("set_aside", "step-left", **(signed | {"by": "b"}))
    keys = {
        wanted.key,
        replace(wanted, edits=other).key,
        replace(wanted, edits=another).key,
        replace(wanted, references=replace(wanted.references, digest="x")).key,
        replace(wanted, row=replace(wanted.row, input_digest="x")).key,
    }
    assert len(keys) == 5
