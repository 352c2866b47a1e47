"""Errors of the tests beside the chair on simulated people with known truth.

Random people (function of either labyrinth, compensation, suppression, alertness as usual) sit
through the full protocol without the chair's trials, at 120 or 250 Hz; seeds are fixed in advance.
Percentages are of the truth; a missing value counts as worse than any other. `within_pct` is the
share within the bar.
"""

from collections import defaultdict
from concurrent.futures import ProcessPoolExecutor
from datetime import date

import numpy as np
from threadpoolctl import threadpool_limits

import slowphase
from slowphase.cli.simulated_session import session_from
from slowphase.physiology.scenario import run as simulate
from slowphase.physiology.scenario import scenario_from
from slowphase.recording.session import Patient

SEED = 20261125
PEOPLE = 60
CHAIR = ("sinusoid", "step", "spontaneous", "head-shaking")
# id of the measure: unit of the error, bar, factor from the truth's unit, name of the truth
SIMPLE = {
    "saccade/latency": ("ms", 8.0, 1e3, "latency"),
    "saccade/accuracy": ("%", None, 1.0, "accuracy"),
    "saccade/peak_velocity": ("deg/s", None, 1.0, "peak_velocity"),
    "pursuit/gain": ("ratio", 0.02, 1.0, "gain"),
    "pursuit/phase": ("deg", None, 1.0, "phase"),
    "optokinetic/gain": ("ratio", None, 1.0, "gain"),
    "gaze/horizontal/velocity": ("deg/s", None, 1.0, "horizontal/velocity"),
    "caloric/peak": ("deg/s", None, 1.0, "velocity"),
    "caloric/peak_without_nystagmus": ("deg/s", None, 1.0, "response"),
    "caloric/fixation_index": ("ratio", None, 1.0, "fixation_index"),
    "impulse/right lateral/gain": ("ratio", 0.02, 1.0, "right/gain"),
    "impulse/left lateral/gain": ("ratio", 0.02, 1.0, "left/gain"),
}
IRRIGATIONS = {("right", "warm"): 1.0, ("right", "cool"): 1.0,
               ("left", "warm"): -1.0, ("left", "cool"): -1.0}  # fmt: skip
LEAST_TOTAL_DEG_S = 40.0
WEAKNESS, SLOPE = "caloric/unilateral_weakness", "gaze/sign of the slope"


def run(people: int = PEOPLE) -> list[dict[str, object]]:
    """One row for each measure."""
    errors: dict[str, list[tuple[float, bool, bool]]] = defaultdict(list)
    with ProcessPoolExecutor() as pool:
        for found in pool.map(_person, range(people)):
            for name, error in found:
                errors[name].append(error)
    names = (*SIMPLE, WEAKNESS, SLOPE)
    return [_row(name, errors[name]) for name in names if errors[name]]


def _row(name: str, found: list[tuple[float, bool, bool]]) -> dict[str, object]:
    size = np.array([error for error, _, _ in found])
    unit = SIMPLE[name][0] if name in SIMPLE else "points" if name == WEAKNESS else "wrong"
    barred = name not in SIMPLE or SIMPLE[name][1] is not None or name.startswith("caloric/peak")
    within = round(100 * float(np.mean([inside for _, inside, _ in found])), 1)
    return {
        "measure": name,
        "n": size.size,
        "given_pct": round(100 * float(np.mean(np.isfinite(size))), 1),
        "unit": unit,
        "median": _short(np.median(size)),
        "p90": _short(np.percentile(size, 90)),
        "worst": _short(np.max(size)),
        "within_pct": within if barred else None,
        "coverage_pct": round(100 * float(np.mean([held for _, _, held in found])), 1),
    }


def _short(value: float) -> float | None:
    """Three digits; None where a value was missing."""
    return float(f"{value:.3g}") if np.isfinite(value) else None


def _person(number: int) -> list[tuple[str, tuple[float, bool, bool]]]:
    with threadpool_limits(1):
        trials = simulate(scenario_from(_table(number)))
        trials = tuple(t for t in trials if t.plan.kind not in CHAIR)
        analysis = slowphase.analyze(session_from(trials, Patient(code="B"), date(2026, 1, 15)))
        measures = {m.id: m for m in analysis.measures()}
        found = [one for trial in trials for one in _of_trial(trial, measures)]
        return [*found, *_weakness(trials, measures), *_slope(trials, analysis)]


def _table(number: int) -> dict[str, object]:
    rng = np.random.default_rng([SEED, number])
    weak = float(rng.choice([1.0, rng.uniform(0.05, 1.0)]))
    sides = {"right": weak, "left": 1.0} if rng.random() < 0.5 else {"right": 1.0, "left": weak}
    person = sides | {
        "compensated": float(rng.uniform(0.3, 1.0)),
        "suppression": float(rng.uniform(0.5, 0.98)),
        "storage": float(rng.uniform(0.7, 1.3)),
    }
    rate = float(rng.choice([120.0, 250.0]))
    return {"seed": number, "person": person, "protocol": {"trials": "full"},
            "equipment": {"sampling_hz": rate}}  # fmt: skip


def _of_trial(trial, measures):
    for name, (_, _, factor, told) in SIMPLE.items():
        kind, _, rest = name.partition("/")
        truth = trial.truth.measures.get(told)
        if trial.plan.kind != kind or truth is None:
            continue
        own = next((m for id_, m in measures.items() if id_ == f"{trial.plan.id}/{rest}"), None)
        own = own or next((m for id_, m in measures.items() if id_.startswith(f"{trial.plan.id}/")
                           and m.name == rest.split("/")[-1]), None)  # fmt: skip
        yield name, _error(own, factor * float(truth), _bar(name, truth))


def _bar(name, truth):
    return max(0.5, 0.03 * abs(truth)) if name.startswith("caloric/peak") else SIMPLE[name][1]


def _error(measure, truth, bar):
    if measure is None or measure.value is None:
        return float("inf"), False, False
    size = abs(measure.value - truth)
    low, high = measure.low, measure.high
    held = low is not None and high is not None and low <= truth <= high
    return size, bar is None or size <= bar, held


def _weakness(trials, measures):
    """Jongkees' formula of the true responses, where the total carries it."""
    found = {}
    for trial in trials:
        if trial.plan.kind == "caloric":
            warm = trial.plan.temperature_c > 37.0
            way = (1.0 if warm else -1.0) * (-1.0 if trial.plan.ear == "right" else 1.0)
            response = way * trial.truth.measures["response"]
            found[trial.plan.ear, "warm" if warm else "cool"] = response
    total = sum(found.values())
    if set(found) == set(IRRIGATIONS) and total >= LEAST_TOTAL_DEG_S:
        truth = 100.0 * sum(IRRIGATIONS[key] * value for key, value in found.items()) / total
        measure = measures.get("caloric/unilateral_weakness")
        yield WEAKNESS, _error(measure, truth, 2.0)


def _slope(trials, analysis):
    """Is the sign of the dependence on gaze right, where the velocities differ by 1 deg/s?"""
    dark = {t.plan.eccentricity_deg: t.truth.measures["horizontal/velocity"] for t in trials
            if t.plan.kind == "gaze" and t.plan.vision == "dark"}  # fmt: skip
    if len(dark) < 2:
        return
    change = dark[max(dark)] - dark[min(dark)]
    found = [m for g in analysis.groups if g.kind == "gaze" for m in g.measures
             if m.name == "gaze_dependence" and "dark" in f"{m.of} {m.id}"]  # fmt: skip
    if abs(change) >= 1.0 and found:
        value = found[0].value
        right = value is not None and np.sign(value) == np.sign(change)
        yield SLOPE, (0.0 if right else 1.0, right, right)
