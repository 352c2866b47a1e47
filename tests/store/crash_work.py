"""What the killed processes do to a store, and what must be left of it."""

import contextlib
import json
import random
import shutil
from itertools import count
from pathlib import Path
from types import SimpleNamespace

import slowphase.store.arrival
import slowphase.store.change
import slowphase.store.folder
import slowphase.store.intake
import slowphase.store.patients
import slowphase.store.signers
from slowphase.signing.decisions import Decisions
from slowphase.signing.record import open_record
from slowphase.store import Store, restore
from slowphase.store.copying import check_database
from tests.store.small_session import sealed, write_small_session

TRIAL, BY = "sin-0.5", {"by": "Ann"}
SPAN = {"start_s": 0.1, "stop_s": 0.2}
NOW = "2026-03-02T14:05:00+01:00"


def same_ids(first):
    """Every run makes the same ids, so that what is left can be compared with a run to the end."""
    numbers = count(first)
    signs = slowphase.store.folder.ID_SIGNS

    def made():
        number = next(numbers)
        return "".join(signs[(number // len(signs) ** place) % len(signs)] for place in range(10))

    for module in (slowphase.store.folder, slowphase.store.arrival, slowphase.store.patients):
        module.new_id = made


def cheap_hashes():
    """Argon2 at its lowest cost: what is killed here is the store, not the hash."""
    from argon2 import PasswordHasher

    cheap = PasswordHasher(time_cost=1, memory_cost=8, parallelism=1)
    slowphase.store.signers._hasher = lambda: cheap


def opened(place):
    return Store.open(place / "data", clock=lambda: NOW)


def prepare(place):
    """A store with two patients, three sessions, edits, a signed version, texts and a signer."""
    same_ids(1)
    cheap_hashes()
    for name, code in (("one", "K-1"), ("two", "K-2"), ("three", "K-1"), ("new", "K-3")):
        write_small_session(place / name, code, rows=60)
    store = opened(place)
    one = store.add_session(place / "one", **BY)
    two = store.add_session(place / "two", **BY)
    store.add_session(place / "three", **BY)
    store.add_edit(one.id, "exclude", TRIAL, SPAN, reason="nurse", expected=0, **BY)
    store.add_edit(two.id, "exclude", TRIAL, SPAN, reason="nurse", expected=0, **BY)
    store.undo(two.id, expected=1, **BY)
    store.keep_version(two.id, *sealed(), **BY)
    store.save_course_notes(one.patient, "first", **BY)
    store.save_course_notes(two.patient, "second", **BY)
    store.move_session(two.id, None, reason="wrong", **BY)
    store.add_signer("Ann Meyer", "correct horse battery")
    store.add_reference_file("own", "[own]", **BY)
    store.backup(place / "earlier.zip")
    ids = {"one": one.id, "two": two.id, "first": one.patient, "second": two.patient}
    (place / "ids.json").write_text(json.dumps(ids), encoding="utf-8")
    store.close()


def ids_of(place):
    return json.loads((place / "ids.json").read_text(encoding="utf-8"))


def _sign_again(store, one, two):
    first = open_record(store.versions(two)[0].record_text, "v1")
    store.keep_version(two, *sealed(2, before=first), **BY)


# Each is one change that a person asks for, as it is confirmed when it returns.
CHANGES = {
    "import": lambda s, i, p: s.add_session(p / "new", title="a title", **BY),
    "import under a patient": lambda s, i, p: s.add_session(p / "new", patient=i["first"], **BY),
    "edit": lambda s, i, p: s.add_edit(
        i["one"], "set_aside", TRIAL, {}, reason="dizzy", expected=1, **BY
    ),
    "undo": lambda s, i, p: s.undo(i["one"], expected=1, **BY),
    "redo": lambda s, i, p: s.redo(i["two"], expected=2, **BY),
    "draft": lambda s, i, p: s.save_draft(i["one"], Decisions(remark="looks fine"), **BY),
    "first signing": lambda s, i, p: s.keep_version(i["one"], *sealed(), **BY),
    "second signing": lambda s, i, p: _sign_again(s, i["one"], i["two"]),
    "merge": lambda s, i, p: s.merge_patients(i["second"], i["first"], reason="same", **BY),
    "move": lambda s, i, p: s.move_session(i["one"], i["second"], reason="wrong", **BY),
    "reverse": lambda s, i, p: s.reverse(_moved(s), reason="was right", **BY),
    "signer": lambda s, i, p: s.add_signer("Bea Weber", "four words and more"),
    "map": lambda s, i, p: s.save_map("chair", "[columns]", **BY),
    "reference removed": lambda s, i, p: s.remove_reference_file("own", reason="old", **BY),
    "notes": lambda s, i, p: s.save_course_notes(i["first"], "third", **BY),
}


def _moved(store):
    return next(entry.id for entry in store.log() if entry.what == "session_moved")


# These write beside the store: what is left of them is all there, or not under its name.
BESIDE = {
    "backup as folder": lambda s, i, p: s.backup(p / "kept"),
    "backup as zip": lambda s, i, p: s.backup(p / "kept.zip"),
}


def snapshot(store):
    """Everything that a store shows, as values."""
    patients = store.patients()
    sessions = [row.id for patient in patients for row in patient.sessions]
    return {
        "patients": patients,
        "edits": {session: store.edits(session) for session in sessions},
        "drafts": {session: store.draft(session) for session in sessions},
        "versions": {session: store.versions(session) for session in sessions},
        "notes": {patient.id: store.course_notes(patient.id) for patient in patients},
        "texts": (store.maps(), store.reference_files()),
        "signers": store.signers(),
        "log": store.log(limit=10_000),
    }


def whole(store):
    """What is wrong with a store that was just opened; nothing should be."""
    found = [problem.message for problem in store.check()]
    known = {row.id for patient in store.patients() for row in patient.sessions}
    lying = {path.name for path in store.data.sessions.iterdir()}
    if lying != known:
        found.append(f"folders {sorted(lying ^ known)} and rows differ")
    parts = [path.name for path in store.data.incoming.iterdir() if path.name.startswith(".")]
    return found + [f"{part} is left of a copy" for part in parts]


def whole_beside(place):
    """What is wrong with a backup that has its name."""
    for name in ("kept", "kept.zip"):
        if (place / name).exists():
            target = place / "again"
            restore(place / name, target)
            check_database(target / "store.sqlite")
    return []


def work_for_ever(place, seed, say):
    """Imports, edits, signing and moving, in a random order; each is told when it is confirmed."""
    draw = random.Random(seed)
    store = Store.open(place / "data")
    ids = [row.id for patient in store.patients() for row in patient.sessions]
    say({})
    while True:
        steps = (_import, _edit, _undo, _sign, _move, _draft) if ids else (_import,)
        told = draw.choice(steps)(store, ids, draw, place)
        if told is not None:
            say(told)


def _import(store, ids, draw, place):
    row = store.add_session(place / draw.choice(("one", "two", "new")), **BY)
    ids.append(row.id)
    return {"what": "session_added", "session": row.id, "files": [f.sha256 for f in row.files]}


def _edit(store, ids, draw, place):
    session, start = draw.choice(ids), draw.random()
    values = {"start_s": start, "stop_s": start + 1}
    expected = len(store.edits(session).log)
    edits = store.add_edit(session, "exclude", TRIAL, values, reason="x", expected=expected, **BY)
    return {"what": "edit_added", "session": session, "edits": edits.digest()}


def _undo(store, ids, draw, place):
    session = draw.choice(ids)
    before = store.edits(session)
    if not before.active:
        return None
    edits = store.undo(session, expected=len(before.log), **BY)
    return {"what": "edit_undone", "session": session, "edits": edits.digest()}


def _sign(store, ids, draw, place):
    session = draw.choice(ids)
    versions = store.versions(session)
    before = open_record(versions[-1].record_text, "last") if versions else None
    record, page = sealed(len(versions) + 1, before)
    store.keep_version(session, record, page, **BY)
    return {"what": "reading_signed", "session": session, "record": record}


def _move(store, ids, draw, place):
    session = draw.choice(ids)
    row = store.move_session(session, None, reason="wrong", **BY)
    return {"what": "session_moved", "session": session, "patient": row.patient}


def _draft(store, ids, draw, place):
    session, remark = draw.choice(ids), str(draw.random())
    store.save_draft(session, Decisions(remark=remark), **BY)
    return {"what": "draft_saved", "session": session, "remark": remark}


def disagreements(store, told):
    """Where a store differs from what was confirmed; at most one more change may have come."""
    entries = list(reversed(store.log(limit=10**6)))
    found = []
    if not len(told) <= len(entries) <= len(told) + 1:
        found.append(f"{len(told)} changes were confirmed, {len(entries)} are in the log")
    for said, entry in zip(told, entries, strict=False):
        if (said["what"], said["session"]) != (entry.what, entry.session):
            found.append(f"{said} was confirmed, the log has {entry.what} of {entry.session}")
    unconfirmed = {entry.session for entry in entries[len(told) :]}
    return found + _lost(store, told, unconfirmed) + _unlogged(store, entries)


def _lost(store, told, unconfirmed):
    """The last word that was confirmed on each session must be there."""
    last = {}
    for said in told:
        if set(said) == {"what", "session"}:  # came without a word: what it left is not known
            last = {at: value for at, value in last.items() if at[0] != said["session"]}
        last |= {(said["session"], key): said[key] for key in said}
    found = []
    for (session, key), value in last.items():
        if session not in unconfirmed and key in _NOW and _NOW[key](store, session) != value:
            found.append(f"{key} of {session} is not what was confirmed")
    return found


_NOW = {
    "files": lambda store, session: [file.sha256 for file in store.session(session).files],
    "edits": lambda store, session: store.edits(session).digest(),
    "record": lambda store, session: store.versions(session)[-1].record_text,
    "patient": lambda store, session: store.session(session).patient,
    "remark": lambda store, session: store.draft(session).remark,
}


def _unlogged(store, entries):
    """Every change has its entry, and every entry its change."""
    rows = [row for patient in store.patients() for row in patient.sessions]
    whats = [entry.what for entry in entries]
    counts = {
        "sessions": (len(rows), whats.count("session_added")),
        "edits": (
            sum(row.edits for row in rows),
            whats.count("edit_added") + whats.count("edit_undone"),
        ),
        "versions": (
            sum(row.signed_version or 0 for row in rows),
            whats.count("reading_signed"),
        ),
    }
    return [f"{name}: {a} rows, {b} entries" for name, (a, b) in counts.items() if a != b]


def write_sources(place):
    for name, code in (("one", "K-1"), ("two", "K-2"), ("new", "K-3")):
        write_small_session(Path(place) / name, code, rows=60)


def _rows_first():
    """Commits the rows of a session before its files have their place."""
    arrival = slowphase.store.arrival
    put, file = arrival.put_in_place, arrival._file

    def file_and_commit(change, taken, filing):
        file(change, taken, filing)
        change.rows.commit()
        put(change.data, taken)

    def begin_with_data(data, begin, source, filing, **more):
        @contextlib.contextmanager
        def begin_knowing():
            with begin() as change:
                yield SimpleNamespace(
                    rows=change.rows, by=change.by, at=change.at, log=change.log, data=data
                )

        return arrive(data, begin_knowing, source, filing, **more)

    arrive = arrival.arrive
    arrival.put_in_place, arrival._file = lambda data, taken: None, file_and_commit
    arrival.arrive = begin_with_data
    return "import"


def _log_apart():
    """Commits a change before its entry in the log."""
    log = slowphase.store.change.Change.log

    def log_later(change, *args, **more):
        change.rows.commit()
        return log(change, *args, **more)

    slowphase.store.change.Change.log = log_later
    return "edit"


def _in_place_at_once():
    """Copies files to their place one by one, and clears nothing up after a crash."""

    slowphase.store.intake.move = shutil.copytree
    slowphase.store.intake.sweep.__globals__["folders_of_ids"] = lambda folder: []
    return "import"


SPOILT = {
    "rows before files": _rows_first,
    "log apart": _log_apart,
    "no sweep": _in_place_at_once,
}
