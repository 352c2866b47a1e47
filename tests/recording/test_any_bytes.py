"""Whatever the bytes are: a session with problems, or InputError, and nothing else."""

from pathlib import Path

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st
from session_folder import COLUMNS, HEAD, as_csv, sinusoid_keys, sinusoid_trace

from slowphase.foundation.errors import InputError
from slowphase.recording.keys import key_tables, kind_tables
from slowphase.recording.propose import propose_columns
from slowphase.recording.read import read_session
from slowphase.recording.session import Session

TRIAL = "\n[[trial]]\n" + "\n".join(sinusoid_keys("a", "a.csv")) + "\n"
PLAIN = as_csv(sinusoid_trace(duration_s=8)).encode()
TOML = (HEAD + COLUMNS + TRIAL).encode()
CELLS = ("0", "1.5", "-2,5", "", "NaN", "oops", "1e400", '"', "12:01", "\t", " ", "é")
CELL = st.sampled_from(CELLS)
TABLE = st.lists(st.lists(CELL, max_size=7).map(";".join), max_size=30).map("\n".join)
KEYS = [*kind_tables()["sinusoid"].keys, *key_tables()["trial"].keys]
VALUE = st.one_of(
    st.booleans().map(lambda flag: str(flag).lower()),
    st.integers(-(2**63), 2**63 - 1).map(str),
    st.floats().map(repr),
    st.text("ab/.\u00e9 ", max_size=5).map(lambda text: f'"{text}"'),
    st.sampled_from(["{}", "[]", "[1, 'a']", "{a = 1}", "2026-03-02", "12:00:00"]),
)
quiet = settings(
    deadline=None, max_examples=150, suppress_health_check=[HealthCheck.function_scoped_fixture]
)


def try_to_read(place: Path, toml: bytes, trace: bytes) -> Session | None:
    (place / "session.toml").write_bytes(toml)
    (place / "a.csv").write_bytes(trace)
    try:
        session = read_session(place)
    except InputError:
        return None
    for trial in session.trials:
        assert trial.recording is not None or session.problems or trial.outcome == "not done"
    return session


def spoiled(whole: bytes, at: float, insert: bytes, cut: int) -> bytes:
    place = int(at * len(whole))
    return whole[:place] + insert + whole[place + cut :]


@quiet
@given(st.binary(max_size=400))
@example(b"\xff\xfe")
@example(b"trial = 3")
@example(b"[[trial]]\n[[trial]]\n")
@example(b"a = " + b"[" * 3000)
@example(b"patient = 1\nsession = []\ncolumns = 'x'\nconditions = 2\ntrial = [1, 'a', {}]")
def test_any_bytes_as_session_file(tmp_path: Path, toml: bytes) -> None:
    try_to_read(tmp_path, toml, PLAIN)


@quiet
@given(st.floats(0, 1), st.binary(max_size=12), st.integers(0, 40))
def test_a_session_file_spoiled_anywhere(
    tmp_path: Path, at: float, insert: bytes, cut: int
) -> None:
    try_to_read(tmp_path, spoiled(TOML, at, insert, cut), PLAIN)


@quiet
@given(st.binary(max_size=600))
@example(b"PAR1")
@example(b"\xff\xfe1\x00")
@example(b"\r\r\r")
@example(b'"')
def test_any_bytes_as_trace_file(tmp_path: Path, trace: bytes) -> None:
    try_to_read(tmp_path, TOML, trace)


@quiet
@given(st.floats(0, 1), st.binary(max_size=12), st.integers(0, 200))
def test_a_trace_file_spoiled_anywhere(tmp_path: Path, at: float, insert: bytes, cut: int) -> None:
    try_to_read(tmp_path, TOML, spoiled(PLAIN, at, insert, cut))


@quiet
@given(TABLE)
@example("0;0;0;0;0;0; ")
def test_any_table_as_trace_file_or_for_a_proposal(tmp_path: Path, table: str) -> None:
    try_to_read(tmp_path, TOML, ("t;chair;Rx;Ry;Lx;Ly\n" + table).encode())
    (tmp_path / "a.csv").write_text(table, encoding="utf-8")
    try:
        proposed = propose_columns(tmp_path / "a.csv").to_toml()
    except InputError:
        return
    assert proposed.startswith("[columns]")


@quiet
@given(st.sampled_from(KEYS), VALUE)
def test_any_value_for_any_key_of_a_trial(tmp_path: Path, key: str, value: str) -> None:
    kept = "\n".join(line for line in TRIAL.splitlines() if not line.startswith(key))
    try_to_read(tmp_path, (HEAD + COLUMNS + f"{kept}\n{key} = {value}\n").encode(), PLAIN)


@pytest.mark.parametrize("name", ["", ".", "..", "a" * 5000, "nul\x00byte", "trials"])
def test_any_path(tmp_path: Path, name: str) -> None:
    (tmp_path / "trials").mkdir()
    escaped = name.replace("\x00", "\\u0000")
    try_to_read(tmp_path, TOML.replace(b'"a.csv"', f'"{escaped}"'.encode()), PLAIN)
    with pytest.raises(InputError):
        read_session(tmp_path / "nowhere" / name)
