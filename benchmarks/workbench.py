"""The workbench against its bars: first picture, windows, edits, and memory with ten sessions.

A real server answers over loopback; a session of half an hour at 1000 Hz, both eyes, is in it ten
times, and one of 250 Hz whose first sinusoid lasts five minutes. Bars: first picture (session,
trial and first window together, after the server started) 1.5 s; a window inside the server 5 ms;
an edit on five minutes at 250 Hz 200 ms; memory (resident) 600 MB. ``computing`` is the time that
the server itself computed for a call: about what it takes on a machine that does nothing else.
"""

import os
import subprocess
import sys
import tempfile
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from datetime import date
from pathlib import Path
from statistics import median
from time import perf_counter, sleep

import httpx2 as httpx
import numpy as np
import psutil

from slowphase.cli.simulated_session import session_from
from slowphase.physiology.person import Person
from slowphase.physiology.protocol import standard_protocol
from slowphase.physiology.recorder import Equipment
from slowphase.physiology.simulate import simulate
from slowphase.recording.session import Patient
from slowphase.recording.write import write_session
from slowphase.store import Store
from slowphase.workbench.traces.grid import Grid
from slowphase.workbench.traces.pyramid import make_pyramid
from slowphase.workbench.traces.window import window_bytes

SESSIONS = 10
LONG = "sin-0.01"
BY = {"by": "Benchmark", "reason": "to see how long it takes"}
ROUNDS = 5


def edits_of(number: int) -> Iterator[tuple[str, dict[str, object]]]:
    """An edit of each kind, none of which was tried before: the desk keeps what it measured."""
    yield "exclude", {"start_s": 40.0 + number, "stop_s": 46.5 + number}
    yield "no_quick_phase", {"at_s": 30.0 + number}
    yield "quick_phase", {"start_s": 100.0 + number, "stop_s": 100.06 + number}
    yield "calibration", {"eye": "both", "plane": "horizontal", "gain": 1.1 + 0.01 * number}
    if number < 2:
        yield "eye", {"eye": ("right", "left")[number]}
    if number < 1:
        yield "set_aside", {}


Row = dict[str, object]


@dataclass(slots=True)
class Server:
    """A server that runs, a client of it, and the most memory that it was seen to hold (bytes)."""

    process: subprocess.Popen[str]
    client: httpx.Client
    peak: int = 0
    watched: bool = field(default=True)

    def watch(self) -> None:
        process = psutil.Process(self.process.pid)
        while self.watched:
            self.peak = max(self.peak, process.memory_info().rss)
            sleep(0.01)

    def cpu_s(self) -> float:
        """Time that the server's own threads have computed, whatever else the machine does."""
        times = psutil.Process(self.process.pid).cpu_times()
        return times.user + times.system

    def get(self, path: str, **asked: object) -> httpx.Response:
        answer = self.client.get(f"/api/{path}", params=asked)
        answer.raise_for_status()
        return answer

    def post(self, path: str, body: Row) -> httpx.Response:
        answer = self.client.post(f"/api/{path}", json=body)
        answer.raise_for_status()
        return answer


@contextmanager
def server_on(data: Path) -> Iterator[Server]:
    command = [sys.executable, "-m", "slowphase", "serve", "--data", str(data)]
    process = subprocess.Popen(
        [*command, "--no-open", "--no-demo"],
        stdout=subprocess.PIPE, text=True, env={**os.environ, "OPENBLAS_NUM_THREADS": "1"},
    )  # fmt: skip
    assert process.stdout
    told = next(line for line in process.stdout if line.startswith("open"))
    address, _, token = told.split()[1].partition("/#token=")
    headers = {"Authorization": f"Bearer {token}"}
    server = Server(process, httpx.Client(base_url=address, headers=headers, timeout=300))
    watcher = threading.Thread(target=server.watch)
    watcher.start()
    try:
        yield server
    finally:
        server.watched = False
        watcher.join()
        server.client.close()
        process.terminate()
        process.wait(10)


def made_session(folder: Path, sampling_hz: float, cycles: float) -> float:
    """Write a session whose slowest sinusoid has so many cycles; returns its length in minutes."""
    plans = tuple(
        replace(plan, cycles=cycles) if plan.id == LONG else plan for plan in standard_protocol()
    )
    trials = simulate(Person(), plans, Equipment(sampling_hz=sampling_hz), seed=7)
    write_session(session_from(trials, Patient("BENCH", 40.0), date(2026, 1, 15)), folder)
    return sum(trial.plan.length_s for trial in trials) / 60


def filled_store(data: Path, scratch: Path) -> tuple[list[str], str, float]:
    """Ten long sessions and a usual one; their ids, and the length of a long one in minutes."""
    minutes = made_session(scratch / "long", 1000.0, 7.0)
    made_session(scratch / "usual", 250.0, 3.0)
    store = Store.open(data)
    try:
        long = [store.add_session(scratch / "long", by="Benchmark").id for _ in range(SESSIONS)]
        usual = store.add_session(scratch / "usual", by="Benchmark").id
    finally:
        store.close()
    return long, usual, minutes


def opened(server: Server, session: str) -> Row:
    """The session's answer; waits until it is measured."""
    while True:
        answer = server.get(f"sessions/{session}").json()
        if answer["document"] is not None:
            return dict(answer)
        while server.get(f"jobs/{answer['job']}").json()["state"] in ("waiting", "running"):
            sleep(0.05)


def first_picture(server: Server, session: str) -> float:
    """Seconds from the click to a trial's traces: session, trial, first window."""
    start = perf_counter()
    answer = opened(server, session)
    look(server, session, str(answer["document"]["trials"][2]["id"]))
    return perf_counter() - start


def look(server: Server, session: str, trial: str) -> None:
    """A trial as the page asks for it: what is told of it, and all lines at full length."""
    told = server.get(f"sessions/{session}/trials/{trial}").json()
    channels = ",".join(channel["id"] for channel in told["channels"])
    server.get(f"sessions/{session}/trials/{trial}/window", channels=channels, columns=1280)


def windows(server: Server, session: str) -> list[float]:
    """Seconds of windows of the longest trial at every zoom, two lines each, over loopback."""
    found = []
    for length_s in (700.0, 300.0, 100.0, 30.0, 10.0, 3.0, 1.0, 0.3):
        for start_s in (0.0, 1.0, 2.0):
            start = perf_counter()
            server.get(
                f"sessions/{session}/trials/{LONG}/window", channels="position,slow",
                start_s=start_s, stop_s=start_s + length_s, columns=1280,
            )  # fmt: skip
            found.append(perf_counter() - start)
    return found


def windows_inside() -> float:
    """The slowest median (s) of any zoom: two lines of 1.8 million samples, no network."""
    random = np.random.default_rng(0)
    lines = {n: make_pyramid(random.normal(size=1_800_000).astype(np.float32)) for n in "ab"}
    grid, medians = Grid(0.0, 0.001, 1_800_000), []
    for length_s in (1800.0, 600.0, 100.0, 10.0, 1.0):
        rounds = []
        for start_s in np.linspace(0.0, 1800.0 - length_s, 9):
            start = perf_counter()
            window_bytes(grid, lines, (float(start_s), float(start_s) + length_s), 1280)
            rounds.append(perf_counter() - start)
        medians.append(median(rounds))
    return max(medians)


@dataclass(slots=True)
class Cost:
    """Seconds of each call of one kind, and of the server's own computing in all of them."""

    times: list[float] = field(default_factory=list)
    cpu: float = 0.0


def edits(server: Server, session: str) -> dict[str, Cost]:
    """Edits of each kind on the trial of five minutes, each undone and redone."""
    opened(server, session)
    look(server, session, LONG)
    sleep(6.0)  # the desk is made ready while a person looks
    found: dict[str, Cost] = {}
    count = 0
    for kind, values in (one for number in range(ROUNDS) for one in edits_of(number)):
        for what in (kind, "undo", "redo", "undo"):
            body: Row = {**BY, "kind": kind, "trial": LONG, "values": values}
            asked = body if what == kind else {"by": BY["by"]}
            path = f"sessions/{session}/{'edits' if what == kind else what}"
            cost = found.setdefault(what, Cost())
            start, cpu = perf_counter(), server.cpu_s()
            server.post(path, {**asked, "expected": count})
            cost.times.append(perf_counter() - start)
            cost.cpu += server.cpu_s() - cpu
            count += 1
            sleep(1.2)  # a person looks at what changed, which is kept meanwhile
    return found


def run() -> list[Row]:
    """One row for each bar."""
    with tempfile.TemporaryDirectory() as name:
        data, scratch = Path(name) / "store", Path(name)
        long, usual, minutes = filled_store(data, scratch)
        with server_on(data) as server:
            for session in [*long, usual]:
                opened(server, session)
            measuring = server.peak
        with server_on(data) as server:
            first = first_picture(server, long[0])
        with server_on(data) as server:
            pictures = [first_picture(server, session) for session in long]
            for session in long:
                answer = opened(server, session)
                for trial in answer["document"]["trials"]:
                    look(server, session, trial["id"])
            over_loopback = windows(server, long[-1])
            opening = server.peak
        with server_on(data) as server:
            edited = edits(server, usual)
    about = f"{minutes:.0f} min at 1000 Hz"
    rows = [
        _row(f"first picture of {about}, server just started", first, "s", 1.5),
        _row(f"first picture of {about}, the slowest of ten", max(pictures), "s", 1.5),
        _row("window of 1.8 million samples inside the server", 1e3 * windows_inside(), "ms", 5),
        _row("window over loopback, median of all zooms", 1e3 * median(over_loopback), "ms", None),
        _row("memory while ten sessions are opened in turn", opening / 1e6, "MB", 600),
        _row("memory while ten sessions are measured in turn", measuring / 1e6, "MB", 600),
    ]
    for kind, cost in edited.items():
        what = f"edit on 5 min at 250 Hz: {kind}, median"
        row = _row(what, 1e3 * median(cost.times), "ms", 200)
        cpu = round(1e3 * cost.cpu / len(cost.times))
        rows.append(row | {"worst": round(1e3 * max(cost.times)), "computing": cpu})
    return rows


def _row(what: str, value: float, unit: str, bar: float | None) -> Row:
    held = "" if bar is None else "yes" if value <= bar else "NO"
    return {"what": what, "measured": float(f"{value:.3g}"), "unit": unit, "bar": bar, "held": held}
