"""Errors of the measures on simulated sessions with known truth, beside the plain script's."""

import sys
import tempfile
from collections import defaultdict
from pathlib import Path

import numpy as np

from slowphase.analysis.run import analyze
from slowphase.recording.write import write_session

from . import plain_script

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))
import scenarios

SEEDS = (11, 12)
RELATIVE = ("gain", "time_constant")


def run(names: tuple[str, ...] = scenarios.NAMES) -> list[dict[str, object]]:
    """One row per measure: median, 90 % and largest error of both, and coverage."""
    ours: dict[str, list[float]] = defaultdict(list)
    plain: dict[str, list[float]] = defaultdict(list)
    covered: dict[str, list[bool]] = defaultdict(list)
    for name in names:
        for seed in SEEDS:
            _one_session(name, seed, ours, plain, covered)
        print(f"  {name}", flush=True)
    return [_row(key, ours[key], plain.get(key, []), covered[key]) for key in sorted(ours)]


def _one_session(name, seed, ours, plain, covered) -> None:
    session, truth = scenarios.scenario(name, seed)
    analysis = analyze(session)
    for trial in analysis.trials:
        for measure in trial.measures:
            true = truth[trial.id].measures.get(measure.id.split("/", 1)[1])
            if true is None or measure.value is None:
                continue
            key = f"{trial.kind} {measure.name}"
            ours[key].append(error(measure.name, measure.value, true))
            if measure.low is not None and measure.high is not None:
                covered[key].append(measure.low <= true <= measure.high)
    for pair in analysis.pairs:
        for measure in pair.measures:
            true = truth[pair.fixation].measures.get(measure.name)
            if true is not None and measure.value is not None:
                ours[measure.name].append(abs(measure.value - true))
                covered[measure.name].append(measure.low <= true <= measure.high)
    _plain_session(session, truth, plain)


def _plain_session(session, truth, plain) -> None:
    both = all("eye_h_left" in t.recording.channels for t in session.trials if t.recording)
    if not both or any(t.recording.head_velocity_deg_s is None for t in session.trials):
        return
    with tempfile.TemporaryDirectory() as folder:
        write_session(session, folder)
        results = plain_script.analyse(Path(folder))
    for trial in session.trials:
        result, true = results[trial.id], truth[trial.id].measures
        if trial.kind == "sinusoid":
            _compare(plain, "sinusoid", {"gain": "gain", "phase": "phase"}, result, true)
        elif trial.kind == "step":
            for of in ("per", "post"):
                names = {name: f"{of}/{name}" for name in ("gain", "time_constant")}
                _compare(plain, "step", names, result[of], true)


def _compare(plain, kind, names, result, true) -> None:
    for name, key in names.items():
        if result[name] is not None and true.get(key) is not None:
            plain[f"{kind} {name}"].append(error(name, result[name], true[key]))


def error(name: str, value: float, true: float) -> float:
    """Absolute error; in percent of the truth (at least 0.05) for gains and time constants."""
    relative = name in RELATIVE or (name.startswith("gain_") and name != "gain_slope")
    return 100 * abs(value - true) / max(abs(true), 0.05) if relative else abs(value - true)


def _row(key, ours, plain, covered) -> dict[str, object]:
    row = {
        "measure": key,
        "n": len(ours),
        "median": round(float(np.median(ours)), 2),
        "p90": round(float(np.percentile(ours, 90)), 2),
        "largest": round(float(np.max(ours)), 2),
        "coverage_pct": round(100 * float(np.mean(covered))) if covered else None,
    }
    if plain:
        row["plain_median"] = round(float(np.median(plain)), 2)
        row["plain_p90"] = round(float(np.percentile(plain, 90)), 2)
    return row
