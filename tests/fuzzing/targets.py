"""What takes bytes from outside: each may only succeed, or raise one of our errors.

    python -m tests.fuzzing.farm NAME -max_total_time=600

runs one of them under atheris (coverage-guided, libFuzzer) for as long as wanted.
"""

import contextlib
import io
import tempfile
from pathlib import Path

from slowphase.course.events import parse_events
from slowphase.course.retest_file import parse_retest
from slowphase.edits.file import read_edits
from slowphase.foundation.errors import SlowphaseError
from slowphase.recording.described import describe
from slowphase.recording.propose import propose_columns
from slowphase.recording.read import read_session
from slowphase.reference.library import references_from
from slowphase.signing.record import open_record

SESSION = """schema = 1
[patient]
code = "F"
[session]
date = 2026-01-01
[columns]
time = { name = "t", unit = "s" }
head_velocity = { name = "chair", unit = "deg/s" }
eye_h_right = { name = "Rx", unit = "deg" }
[[trial]]
id = "a"
kind = "sinusoid"
file = "a.csv"
frequency_hz = 0.16
peak_velocity_deg_s = 60
"""
TRACE = b"t,chair,Rx\n" + b"".join(
    f"{n / 20:.2f},{n % 7 - 3},{n % 5}.25\n".encode() for n in range(60)
)


def session_file(data: bytes) -> None:
    """A session.toml of any bytes beside a sound trace."""
    with _folder(**{"session.toml": data, "a.csv": TRACE}) as folder:
        read_session(folder)


def trace_file(data: bytes) -> None:
    """A trace of any bytes beside a sound session.toml."""
    with _folder(**{"session.toml": SESSION.encode(), "a.csv": data}) as folder:
        read_session(folder)


def unknown_trace(data: bytes) -> None:
    """A file of any bytes of which columns and trials are to be proposed."""
    with _folder(**{"a.txt": data}) as folder:
        describe(folder, ["a.txt"])
        propose_columns(folder / "a.txt")


def parquet_trace(data: bytes) -> None:
    """A file of any bytes that is called Parquet."""
    with _folder(**{"a.parquet": data}) as folder:
        propose_columns(folder / "a.parquet")


def edits_file(data: bytes) -> None:
    """A file of edits of any bytes."""
    with _folder(**{"edits.json": data}) as folder:
        read_edits(folder / "edits.json")


def reference_set(data: bytes) -> None:
    """A reference set of any text."""
    references_from({"set.toml": data.decode("utf-8", "replace")})


def retests(data: bytes) -> None:
    """Retests of any text."""
    parse_retest(data.decode("utf-8", "replace"), "retest.toml")


def events(data: bytes) -> None:
    """Events of any text."""
    parse_events(data.decode("utf-8", "replace"), "events.toml")


def signed_record(data: bytes) -> None:
    """A signed record of any text."""
    open_record(data.decode("utf-8", "replace"), "v1.json")


TARGETS = {
    target.__name__: target
    for target in (
        session_file, trace_file, unknown_trace, parquet_trace, edits_file, reference_set,
        retests, events, signed_record,
    )
}  # fmt: skip
SEEDS = {
    "session_file": (SESSION.encode(), b"", b"schema = 1"),
    "trace_file": (TRACE, TRACE.replace(b",", b";").replace(b".", b","), TRACE[:40], b"\xff\xfe"),
    "unknown_trace": (TRACE, b"1;2\n" * 30, "Zeit\tStuhl\n1\t2\n".encode("utf-16")),
    "parquet_trace": (b"PAR1" + b"\0" * 60 + b"PAR1", b""),
    "edits_file": (b'{"schema": 1, "edits": [{"id": 1, "kind": "exclude", "trial": "a"}]}',),
    "reference_set": (b'[set]\nid = "x"\n[[entry]]\nmeasure = "gain"\ngroups = [{ n = 1 }]\n',),
    "retests": (b'[retest]\nsource = "x"\n[[measure]]\nname = "gain"\nsem = 0.1\n',),
    "events": (b'[[event]]\ndate = 2026-01-01\nlabel = "dose"\n',),
    "signed_record": (b'{"format": "slowphase signed reading", "schema": 1}',),
}


def survives(name: str, data: bytes) -> None:
    """Run a target; an error of ours is an answer, everything else goes on to the caller."""
    with contextlib.suppress(SlowphaseError), contextlib.redirect_stderr(io.StringIO()):
        TARGETS[name](data)


@contextlib.contextmanager
def _folder(**files: bytes):
    with tempfile.TemporaryDirectory() as made:
        for name, data in files.items():
            (Path(made) / name).write_bytes(data)
        yield Path(made)
