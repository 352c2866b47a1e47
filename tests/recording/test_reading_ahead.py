"""Files are read ahead of their turn: nobody can tell from the session, and stopping stops it."""

import threading
from collections.abc import Sequence
from pathlib import Path
from time import sleep

import pytest
from numpy.testing import assert_array_equal
from session_folder import SessionFolder

from slowphase.recording import read
from slowphase.recording.plan import TrialPlan
from slowphase.recording.readers.layout import Fault
from slowphase.recording.session import Session
from slowphase.recording.trace_file import TraceFile, open_trace


def many_files(folder: SessionFolder) -> Path:
    for number in range(6):
        folder.add_sinusoid(f"sound-{number}")
        folder.add_sinusoid(f"words-{number}", content=f"no table of numbers, {number}\n" * 9)
    return folder.write()


def with_readers(count: int, path: Path, monkeypatch: pytest.MonkeyPatch) -> Session:
    monkeypatch.setattr(read, "FILES_AT_ONCE", count)
    return read.read_session(path)


def test_a_session_does_not_depend_on_how_many_files_are_read_at_once(
    folder: SessionFolder, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = many_files(folder)
    alone, together = (with_readers(count, path, monkeypatch) for count in (1, 4))
    assert together.problems == alone.problems
    assert len(alone.problems) == 6
    assert together.input_digest == alone.input_digest
    for one, other in zip(alone.trials, together.trials, strict=True):
        assert one.id == other.id
        assert (one.recording is None) == (other.recording is None)
        if one.recording is not None and other.recording is not None:
            assert_array_equal(one.recording.time_s, other.recording.time_s)
            for role, values in one.recording.channels.items():
                assert_array_equal(values, other.recording.channels[role])


def test_who_stops_the_reading_waits_for_no_file_that_was_not_begun(
    folder: SessionFolder, monkeypatch: pytest.MonkeyPatch
) -> None:
    opened: list[Path] = []

    def slowly(path: Path, trials: Sequence[TrialPlan]) -> TraceFile | Fault:
        opened.append(path)
        sleep(0.2)
        return open_trace(path, trials)

    def stop(_name: str) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(read, "open_trace", slowly)
    before = threading.active_count()
    with pytest.raises(KeyboardInterrupt):
        read.read_session(many_files(folder), progress=stop)
    assert len(opened) <= read.FILES_AT_ONCE
    assert threading.active_count() == before


def test_an_error_in_reading_a_file_is_not_lost(
    folder: SessionFolder, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(path: Path, _trials: Sequence[TrialPlan]) -> TraceFile | Fault:
        raise MemoryError(path.name)

    monkeypatch.setattr(read, "open_trace", fail)
    with pytest.raises(MemoryError, match="sound-0"):
        read.read_session(many_files(folder))
