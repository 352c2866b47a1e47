"""Time and memory of a whole session, start-up included, beside the plain script's."""

import os
import subprocess
import sys
import tempfile
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from time import perf_counter, sleep

import psutil

from slowphase.cli.simulated_session import session_from
from slowphase.physiology.person import Person
from slowphase.physiology.protocol import standard_protocol
from slowphase.physiology.recorder import Equipment
from slowphase.physiology.simulate import simulate
from slowphase.recording.session import Patient
from slowphase.recording.write import write_session

ROUNDS = 5
SCRIPT = Path(__file__).parent / "plain_script.py"


@dataclass(frozen=True, slots=True)
class Cost:
    seconds: float
    peak_mb: float


def twelve_trials(folder: Path, sampling_hz: float) -> float:
    """Write the standard session of twelve trials; returns its length in minutes."""
    plans = tuple(plan for plan in standard_protocol() if plan.id != "spontaneous-light")
    trials = simulate(Person(), plans, Equipment(sampling_hz=sampling_hz), seed=7)
    session = session_from(trials, Patient("BENCH", 40.0), date(2026, 1, 15))
    write_session(session, folder)
    return sum(trial.plan.length_s for trial in trials) / 60


def cost_of(command: list[str], environment: dict[str, str]) -> Cost:
    """Wall time of a command and the largest memory it was seen to hold."""
    start = perf_counter()
    process = subprocess.Popen(
        command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, env=environment
    )
    watched = psutil.Process(process.pid)
    peak = 0
    while process.poll() is None:
        try:
            peak = max(peak, watched.memory_info().rss)
        except psutil.NoSuchProcess:
            break
        sleep(0.005)
    if process.returncode:
        raise subprocess.CalledProcessError(process.returncode, command)
    return Cost(perf_counter() - start, peak / 1e6)


def best_of(commands: dict[str, list[str]], rounds: int = ROUNDS) -> dict[str, Cost]:
    """The least time and the largest memory of each command, run in turns.

    All find their modules compiled, as they are once a package was installed and run; a first
    round, which compiles, does not count.
    """
    best: dict[str, Cost] = {}
    with tempfile.TemporaryDirectory() as compiled:
        environment = {**os.environ, "PYTHONPYCACHEPREFIX": compiled}
        environment.pop("PYTHONDONTWRITEBYTECODE", None)
        for command in commands.values():
            cost_of(command, environment)
        for _ in range(rounds):
            for name, command in commands.items():
                cost = cost_of(command, environment)
                known = best.get(name, cost)
                best[name] = Cost(
                    min(cost.seconds, known.seconds), max(cost.peak_mb, known.peak_mb)
                )
    return best


def run() -> list[dict[str, object]]:
    """One row per sampling rate, and one for the start-up of the help text."""
    rows: list[dict[str, object]] = []
    for sampling_hz in (250.0, 1000.0):
        with tempfile.TemporaryDirectory() as name:
            folder = Path(name) / "session"
            minutes = twelve_trials(folder, sampling_hz)
            costs = best_of(
                {
                    "plain": [sys.executable, str(SCRIPT), str(folder)],
                    "slowphase": [
                        sys.executable,
                        "-m",
                        "slowphase",
                        "analyze",
                        str(folder),
                        "--json",
                    ],
                }
            )
        ours, plain = costs["slowphase"], costs["plain"]
        rows.append(
            {
                "what": f"12 trials, {minutes:.0f} min at {sampling_hz:.0f} Hz, CSV, both eyes",
                "slowphase_s": round(ours.seconds, 2),
                "plain_script_s": round(plain.seconds, 2),
                "ratio": round(ours.seconds / plain.seconds, 2),
                "slowphase_peak_mb": round(ours.peak_mb),
                "plain_script_peak_mb": round(plain.peak_mb),
            }
        )
    help_cost = best_of({"help": [sys.executable, "-m", "slowphase", "--help"]})["help"]
    rows.append({"what": "slowphase --help", "slowphase_s": round(help_cost.seconds, 2)})
    return rows
