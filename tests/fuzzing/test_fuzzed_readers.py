"""Whatever bytes come in, the readers succeed or say what is wrong: no crash, no hang."""

import importlib.util
import subprocess
import sys
from functools import reduce
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.fuzzing.targets import SEEDS, TARGETS, survives

ROOT = Path(__file__).resolve().parents[2]
RUNS = {"trace_file": 400, "unknown_trace": 300, "session_file": 800, "parquet_trace": 800}


PIECES = (
    b"\0", b"\n", b'"', b"[", b"{", b"=", b"nan", b"1e999", b"-", b",,", b"\xff", b"'''", b"#",
)  # fmt: skip


def broken(seed):
    """A sound file in which pieces were cut out or replaced."""
    piece = st.binary(max_size=8) | st.sampled_from(PIECES)
    change = st.tuples(st.integers(0, max(len(seed), 1)), st.integers(0, 12), piece)
    return st.lists(change, max_size=4).map(lambda changes: reduce(changed, changes, seed))


def changed(data, change):
    at, length, new = change
    return data[:at] + new + data[at + length :]


@pytest.mark.parametrize("name", TARGETS)
@settings(max_examples=40, deadline=None, derandomize=True,
          suppress_health_check=[HealthCheck.too_slow])  # fmt: skip
@given(data=st.data())
def test_broken_files_are_told_and_nothing_else_happens(name, data):
    seed = data.draw(st.sampled_from(SEEDS[name]))
    survives(name, data.draw(broken(seed) | st.binary(max_size=60)))


@pytest.mark.skipif(
    importlib.util.find_spec("atheris") is None, reason="atheris has no wheel for this Python"
)
@pytest.mark.parametrize("name", TARGETS)
def test_a_search_led_by_coverage_finds_no_crash(name, tmp_path):
    """atheris (Google, Apache-2.0) on libFuzzer, with a fixed seed and a bounded number of runs."""
    limits = [f"-runs={RUNS.get(name, 3000)}", "-seed=7", "-timeout=20", "-rss_limit_mb=4096"]
    command = [sys.executable, "-m", "tests.fuzzing.farm", name, *limits]
    done = subprocess.run(
        [*command, f"-artifact_prefix={tmp_path}/"], cwd=ROOT, capture_output=True, check=False
    )
    said = done.stderr.decode("utf-8", "replace")
    assert done.returncode == 0, said[-3000:]
    assert "Done " in said
