"""One program at a time writes to a store; others may look."""

import subprocess
import sys
from pathlib import Path

import pytest

from slowphase.store import Store, StoreInUse

ROOT = Path(__file__).parents[2]
OPEN = """
import sys
from pathlib import Path
from slowphase.store import Store, StoreError
try:
    store = Store.open(Path(sys.argv[1]), read_only=sys.argv[2] == "look")
except StoreError as error:
    print(type(error).__name__, error)
else:
    print("opened", len(store.patients()), flush=True)
    sys.stdin.readline() if sys.argv[2] == "stay" else None
    store.close() if sys.argv[2] != "stay" else None
"""


def opened_elsewhere(folder, how="once"):
    command = [sys.executable, "-c", OPEN, str(folder), how]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=True)
    return done.stdout.strip()


def test_a_second_program_is_refused_and_told_who_works_there(store):
    told = opened_elsewhere(store.data.root)
    assert told.startswith("StoreInUse the store")
    assert "is in use by another Slowphase (process " in told
    store.close()
    assert opened_elsewhere(store.data.root) == "opened 0"


def test_a_second_store_in_the_same_program_is_refused_and_gives_nothing_free(store):
    for _ in range(2):
        with pytest.raises(StoreInUse):
            Store.open(store.data.root)
    # Closing a second file of the same lock must not end the first one.
    assert opened_elsewhere(store.data.root).startswith("StoreInUse")


def test_a_program_may_look_while_another_writes(store, session):
    assert opened_elsewhere(store.data.root, "look") == "opened 1"
    store.save_map("chair", "x", by="Ann")
    assert opened_elsewhere(store.data.root).startswith("StoreInUse")


def test_the_lock_ends_with_the_program_that_held_it_however_it_ends(tmp_path):
    folder = tmp_path / "data"
    command = [sys.executable, "-c", OPEN, str(folder), "stay"]
    pipes = {"stdin": subprocess.PIPE, "stdout": subprocess.PIPE, "text": True}
    with subprocess.Popen(command, cwd=ROOT, **pipes) as other:
        assert other.stdout.readline().startswith("opened")
        with pytest.raises(StoreInUse, match=f"process {other.pid}"):
            Store.open(folder)
        other.kill()
    store = Store.open(folder)
    assert store.data.holder.read_text(encoding="utf-8").startswith("process ")
    store.close()
    assert not store.data.holder.exists()


def test_an_opening_that_fails_gives_the_lock_back(store, monkeypatch):
    store.close()

    def fails(*_args):
        raise RuntimeError("no")

    monkeypatch.setattr("slowphase.store.store.bring_up_to_date", fails)
    with pytest.raises(RuntimeError):
        Store.open(store.data.root)
    monkeypatch.undo()
    assert opened_elsewhere(store.data.root) == "opened 0"


def test_a_lock_cannot_be_had_from_another_s_hand_by_removing_who_holds_it(store):
    store.data.holder.unlink()
    with pytest.raises(StoreInUse):
        Store.open(store.data.root)
