"""Time of simulating the standard session of twelve trials, alone and as the whole command.

The command reads the scenario, simulates, writes the folder with its truth, start-up included.
"""

import sys
import tempfile
from pathlib import Path
from time import perf_counter

from slowphase.physiology.person import Person
from slowphase.physiology.protocol import TrialPlan, standard_protocol
from slowphase.physiology.recorder import Equipment
from slowphase.physiology.simulate import simulate

from .speed import ROUNDS, best_of

LIMIT_S = 3.0
SCENARIO = """
[equipment]
sampling_hz = {rate}

[[trial]]
id = "spontaneous-light"
drop = true
"""


def twelve_plans() -> tuple[TrialPlan, ...]:
    return tuple(plan for plan in standard_protocol() if plan.id != "spontaneous-light")


def simulation_s(sampling_hz: float) -> float:
    """The least time of several simulations within one process."""
    equipment, plans = Equipment(sampling_hz=sampling_hz), twelve_plans()
    times = []
    for _ in range(ROUNDS):
        start = perf_counter()
        simulate(Person(), plans, equipment, seed=7)
        times.append(perf_counter() - start)
    return min(times)


def run() -> list[dict[str, object]]:
    """One row per sampling rate."""
    rows: list[dict[str, object]] = []
    for sampling_hz in (250.0, 1000.0):
        with tempfile.TemporaryDirectory() as name:
            scenario = Path(name) / "twelve.toml"
            scenario.write_text(SCENARIO.format(rate=sampling_hz), encoding="utf-8")
            command = [sys.executable, "-m", "slowphase", "simulate", str(scenario)]
            cost = best_of({"simulate": [*command, "-o", str(Path(name) / "out")]})["simulate"]
        rows.append(
            {
                "what": f"12 trials at {sampling_hz:.0f} Hz, CSV, both eyes",
                "simulation_s": round(simulation_s(sampling_hz), 2),
                "command_s": round(cost.seconds, 2),
                "command_peak_mb": round(cost.peak_mb),
                "limit_s": LIMIT_S if sampling_hz == 250.0 else None,
            }
        )
    return rows
