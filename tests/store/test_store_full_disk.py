"""A disk that is full or write-protected stops a change and harms nothing."""

import errno
import os
import subprocess
import sys
import tempfile
from pathlib import Path

import pytest

from slowphase.signing.decisions import Decisions
from slowphase.store import Store, StoreError
from tests.store.crash_work import snapshot
from tests.store.small_session import write_small_session

ROOT = Path(__file__).parents[2]


def test_a_disk_that_fills_up_while_files_come_in_leaves_nothing_of_them(
    store, session, folder, monkeypatch
):
    before, real, written = snapshot(store), os.write, []

    def fills(number, data):
        written.append(len(data))
        if sum(written) > 1000:
            raise OSError(errno.ENOSPC, "No space left on device")
        return real(number, data)

    monkeypatch.setattr(os, "write", fills)
    with pytest.raises(StoreError, match="the disk is full; nothing was changed"):
        store.add_session(folder, by="Ann")
    monkeypatch.undo()
    assert snapshot(store) == before
    assert list(store.data.incoming.iterdir()) == []
    assert [path.name for path in store.data.sessions.iterdir()] == [session.id]
    assert store.add_session(folder, by="Ann").id != session.id


def test_a_write_that_takes_only_some_of_the_bytes_is_continued(store, folder, monkeypatch):
    real = os.write
    monkeypatch.setattr(os, "write", lambda number, data: real(number, data[:7]))
    row = store.add_session(folder, by="Ann")
    monkeypatch.undo()
    assert store.check_files(row.id) == ()


SMALL = """
import resource, sys
from pathlib import Path
from slowphase.store import Store, StoreError
from slowphase.signing.decisions import Decisions
place, limit = Path(sys.argv[1]), int(sys.argv[2])
store = Store.open(place / "data")
session = store.add_session(place / "came", by="Ann")
resource.setrlimit(resource.RLIMIT_FSIZE, (limit, limit))
confirmed = 0
try:
    for number in range(10_000):
        store.save_draft(session.id, Decisions(remark=str(number) * 100), by="Ann")
        confirmed = number
except StoreError as error:
    print(confirmed, error)
try:
    store.add_session(place / "large", by="Ann")
except StoreError as error:
    print(error)
print(store.draft(session.id).remark == str(confirmed) * 100)
"""


@pytest.mark.skipif(os.name == "nt", reason="needs limits of a process")
def test_a_quota_that_is_used_up_stops_changes_and_keeps_what_was_confirmed(tmp_path):
    write_small_session(tmp_path / "came")
    write_small_session(tmp_path / "large", rows=40_000)
    command = [sys.executable, "-c", SMALL, str(tmp_path), "1500000"]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=True)
    stopped, refused, still_there = done.stdout.splitlines()
    confirmed = int(stopped.split()[0])
    assert confirmed > 20
    assert "nothing was changed" in stopped
    assert "nothing was changed" in refused
    assert still_there == "True"
    store = Store.open(tmp_path / "data")
    (patient,) = store.patients()
    (session,) = patient.sessions
    assert store.draft(session.id) == Decisions(remark=str(confirmed) * 100)
    assert store.check() == ()
    assert list(store.data.incoming.iterdir()) == []
    store.close()


AS_NOBODY = """
import os, sys
from pathlib import Path
from slowphase.store import Store, StoreError
if os.getuid() == 0:
    os.setuid(65534)
try:
    Store.open(Path(sys.argv[1]))
except StoreError as error:
    print(error)
"""


@pytest.mark.skipif(os.name == "nt", reason="needs permissions")
def test_a_folder_that_may_not_be_written_to_is_told_in_one_line():
    with tempfile.TemporaryDirectory() as name:
        above = Path(name)
        place = above / "kept"
        place.mkdir(mode=0o555)
        above.chmod(0o755)
        for target in (place, place / "data"):
            command = [sys.executable, "-c", AS_NOBODY, str(target)]
            done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=True)
            assert "no permission" in done.stdout
            assert str(place) in done.stdout
            assert len(done.stdout.splitlines()) == 1
        assert list(place.iterdir()) == []


def test_a_write_protected_database_refuses_changes_in_plain_words(store, session, tmp_path):
    look = Store.open(store.data.root, read_only=True)
    try:
        assert look.patients() == store.patients()
        with pytest.raises(StoreError, match="opened only to look at"):
            look.save_course_notes(session.patient, "x", by="Ann")
        with pytest.raises(StoreError, match="opened only to look at"):
            look.add_session(tmp_path / "came" / "session", by="Ann")
    finally:
        look.close()
