"""Processes that are killed in the middle of their work; run as a program of its own.

    python -m tests.store.crash_farm points PLACE KIND    killed before every step on the disk
    python -m tests.store.crash_farm random PLACE SEED KILLS   killed at random moments
    python -m tests.store.crash_farm spoilt PLACE NAME    a store with a fault, which must be found

It imports once and forks for each process, so that hundreds take seconds. It prints one JSON line
for each kind of work: how often it was killed, what was left, and everything that was wrong.
"""

import json
import os
import random
import shutil
import signal
import sqlite3
import sys
import time
from collections import Counter
from contextlib import closing
from functools import partial
from pathlib import Path

import alembic.command  # noqa: F401 - imported once, not in each process
from sqlalchemy import Engine, event

from slowphase.store import Store, StoreError
from slowphase.store.copying import check_database
from slowphase.store.database import open_database
from slowphase.store.schema import bring_up_to_date
from tests.store import crash_work
from tests.store.later_schema import LATER, later_schema

KILLED = -signal.SIGKILL
LOST = "aaaaaaaaaa"
STEPS = ("open", "write", "fsync", "rename", "replace", "mkdir", "chmod", "unlink", "rmdir")


def forked(run):
    """Run in a process of its own; returns how it ended: 0, an exit code, or minus a signal."""
    child = os.fork()
    if child:
        return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])
    code = 1
    try:
        run()
        code = 0
    except StoreError as error:
        sys.stderr.write(f"{error}\n")
    finally:
        os._exit(code)


class Killer:
    """Counts the steps on the disk and the statements of the database; dies before the n-th."""

    def __init__(self, at=None):
        self.at, self.seen, self.on = at, 0, True
        for name in STEPS:
            setattr(os, name, self._before(getattr(os, name)))
        for moment in ("before_cursor_execute", "commit"):
            event.listen(Engine, moment, lambda *_: self.step())

    def _before(self, real):
        def step_first(*args, **kwargs):
            self.step()
            return real(*args, **kwargs)

        return step_first

    def step(self):
        if self.on:
            if self.seen == self.at:
                os.kill(os.getpid(), signal.SIGKILL)
            self.seen += 1


def try_every_point(template, place, work, check):
    """Kill one kind of work at every one of its steps; ``check`` says what is left, and wrong."""
    left, wrong, at = Counter(), [], 0
    while True:
        shutil.rmtree(place, ignore_errors=True)
        shutil.copytree(template, place)
        code = forked(lambda number=at: work(place, number))
        state, found = check(place)
        left[state] += 1
        wrong += [f"step {at}: {one}" for one in found]
        if code != KILLED:
            if code:
                wrong.append(f"step {at}: ended with {code}")
            shutil.rmtree(place)
            return {"kills": at, "left": dict(left), "wrong": wrong}
        at += 1


def changes(template, place, names=tuple(crash_work.CHANGES)):
    """Every change of the store, killed at every step: it is there as a whole, or not at all."""
    before = _seen(template)
    for name in names:
        change = crash_work.CHANGES[name]
        shutil.copytree(template, place)
        forked(lambda change=change: _change(place, change, None))
        states = {"before": before, "after": _seen(place)}
        shutil.rmtree(place)

        def check(where, states=states):
            store = crash_work.opened(where)
            now, wrong = crash_work.snapshot(store), crash_work.whole(store)
            store.close()
            state = next((name for name, seen in states.items() if seen == now), "neither")
            return state, wrong + (["it is half done"] if state == "neither" else [])

        yield (
            name,
            try_every_point(
                template, place, lambda where, at, change=change: _change(where, change, at), check
            ),
        )


def _seen(place):
    store = crash_work.opened(place)
    seen = crash_work.snapshot(store)
    store.close()
    return seen


def _change(place, change, at):
    crash_work.same_ids(10**6)
    crash_work.cheap_hashes()
    store = crash_work.opened(place)
    ids = crash_work.ids_of(place)
    killer = Killer(at)
    change(store, ids, place)
    killer.on = False
    store.close()


def openings(template, place):
    """A new store, and one that was left by a crash, killed while they are opened."""
    empty = template.parent / "empty"
    empty.mkdir()
    yield "open a new one", try_every_point(empty, place, _open, _opens)
    crashed = template.parent / "crashed"
    shutil.copytree(template, crashed)
    lost = crashed / "data" / "sessions" / LOST
    shutil.copytree(crashed / "one", lost)
    shutil.copytree(crashed / "one", crashed / "data" / "incoming" / ".part-bbbbbbbbbb")
    yield "open after a crash", try_every_point(crashed, place, _open, _finds_lost)
    migrate = partial(_migrate, later_schema(template.parent / "later"))
    yield "migrate", try_every_point(template, place, migrate, _migrated)
    restored = template.parent / "restored"
    forked(lambda: _restore(template, restored / "data"))
    yield "open after a restore", try_every_point(restored, place, _open, _opens)


def _restore(template, to):
    from slowphase.store import restore

    restore(template / "earlier.zip", to)


def _migrate(schema, place, at):
    database = open_database(place / "data" / "store.sqlite")
    Killer(at)
    bring_up_to_date(database, place / "data" / "before-migration", crash_work.NOW, schema)
    database.close()


def _migrated(place):
    """The form is the old or the new one, whole; the new one never without a copy of the old."""
    file, wrong = place / "data" / "store.sqlite", []
    copies = list((place / "data" / "before-migration").glob("store-*.sqlite"))
    for one in (file, *copies):
        check_database(one)
    with closing(sqlite3.connect(file)) as opened:
        revision = opened.execute("SELECT version_num FROM alembic_version").fetchone()[0]
        has_room = "room" in str(opened.execute("SELECT sql FROM sqlite_master").fetchall())
    if has_room != (revision == LATER):
        wrong.append("it is half migrated")
    if revision == LATER and not copies:
        wrong.append("it was migrated without a copy")
    return revision, wrong


def _open(place, at):
    Killer(at)
    crash_work.opened(place).close()


def _opens(place):
    store = crash_work.opened(place)
    wrong = crash_work.whole(store)
    store.close()
    return "opened", wrong


def _finds_lost(place):
    state, wrong = _opens(place)
    lost = place / "data" / "incoming" / LOST
    if sorted(path.name for path in lost.rglob("*")) != ["session.toml", "sin-0.5.csv", "trials"]:
        wrong.append("files that were never confirmed are lost")
    return state, wrong


def beside(template, place):
    """Backups and a restore: under their name they are whole."""
    for name, work in crash_work.BESIDE.items():
        yield (
            name,
            try_every_point(
                template, place, lambda where, at, work=work: _change(where, work, at), _beside
            ),
        )
    yield "restore", try_every_point(template, place, _restore_killed, _restored)


def _restore_killed(place, at):
    from slowphase.store import restore

    Killer(at)
    restore(place / "earlier.zip", place / "again")


def _beside(place):
    there = (place / "kept").exists() or (place / "kept.zip").exists()
    return "there" if there else "not there", crash_work.whole_beside(place)


def _restored(place):
    if not (place / "again").exists():
        return "not there", []
    store = Store.open(place / "again")
    wrong = crash_work.whole(store)
    store.close()
    return "there", wrong


def points(place, kind):
    template = place / "template"
    template.mkdir(parents=True)
    forked(lambda: crash_work.prepare(template))
    works = {"changes": changes, "openings": openings, "beside": beside}
    for name, found in works[kind](template, place / "tried"):
        yield {"work": name, **found}


def spoilt(place, name):
    """A store that does the right things in a wrong order; what it does is killed as well."""
    template = place / "template"
    template.mkdir(parents=True)
    forked(lambda: crash_work.prepare(template))
    work = crash_work.SPOILT[name]()
    for one, found in changes(template, place / "tried", (work,)):
        yield {"work": one, **found}


def kill_at_random(place, seed, kills):
    """Kill a process that works without a pause; the same store goes on after each kill."""
    draw, wrong, confirmed = random.Random(int(seed)), [], 0
    told = []
    for number in range(int(kills)):
        if number % 20 == 0:
            told = []
            shutil.rmtree(place, ignore_errors=True)
            place.mkdir(parents=True)
            crash_work.write_sources(place)
        said = _killed_after(place, draw)
        confirmed += len(said)
        told += said
        store = Store.open(place / "data")
        wrong += [f"kill {number}: {one}" for one in crash_work.whole(store)]
        wrong += [f"kill {number}: {one}" for one in crash_work.disagreements(store, told)]
        told = [
            _as_told(entry, told, at) for at, entry in enumerate(reversed(store.log(limit=10**6)))
        ]
        store.close()
    yield {"work": "random", "kills": int(kills), "confirmed": confirmed, "wrong": wrong}


def _as_told(entry, told, at):
    """What was confirmed, and what came without a word: from now on it must stay, too."""
    return told[at] if at < len(told) else {"what": entry.what, "session": entry.session}


def _killed_after(place, draw):
    """Kill a process some time after its first, second, … word, or now and then before any."""
    read, write = os.pipe()
    child = os.fork()
    if not child:
        try:
            os.close(read)
            crash_work.work_for_ever(place, draw.randrange(10**9), lambda said: _say(write, said))
        finally:
            os._exit(1)
    os.close(write)
    with open(read, encoding="utf-8") as stream:
        heard = "".join(stream.readline() for _ in range(draw.randrange(5)))
        time.sleep(draw.uniform(0.0, 0.02))
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        lines = (heard + stream.read()).split("\n")
    return [said for line in lines[:-1] if (said := json.loads(line))]  # a last line may be cut


def _say(to, said):
    os.write(to, (json.dumps(said) + "\n").encode())


def main(kind, place, *numbers):
    kinds = {"points": points, "random": kill_at_random, "spoilt": spoilt}
    for one in kinds[kind](Path(place), *numbers):
        sys.stdout.write(json.dumps(one) + "\n")


if __name__ == "__main__":
    main(*sys.argv[1:])
