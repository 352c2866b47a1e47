"""Is the right pattern first? Invented people of known pattern, through the whole chain.

Every pattern has sessions of random people within it (age, degree, side, compensation), one in
three with the chair alone, except where calorics and impulses are what tells the pattern; seeds
are fixed in advance. `first_pct` is the share in which the right pattern (and side) is ranked
first, `named_pct` that in which one is named. `reversed_strong` counts peripheral losses read on
the wrong side more than weakly, `central_wrong` sessions without a central deficit whose first
pattern is central, `both_wrong` the same for a loss of both sides.
"""

from concurrent.futures import ProcessPoolExecutor
from datetime import date
from typing import Any

import numpy as np
from threadpoolctl import threadpool_limits

SEED = 20261126
EACH = 6
BATTERY = ("peripheral_compensated", "dissociation")  # not seen without calorics and impulses
Table = dict[str, Any]


def run(each: int = EACH) -> list[dict[str, object]]:
    """One row for each pattern, and one for all."""
    cases = [(name, number) for name in PEOPLE for number in range(each)]
    with ProcessPoolExecutor() as pool:
        found = list(pool.map(case, cases))
    rows = [_row(name, [f for f in found if f["name"] == name]) for name in PEOPLE]
    return [*rows, _row("all", found)]


def _row(name: str, found: list[dict[str, Any]]) -> dict[str, object]:
    share = [100.0 * float(np.mean([f[key] for f in found])) for key in ("right", "told")]
    return {
        "pattern": name,
        "n": len(found),
        "first_pct": round(share[0], 1),
        "named_pct": round(share[1], 1),
        "reversed_strong": sum(f["reversed"] for f in found),
        "central_wrong": sum(f["central"] for f in found),
        "both_wrong": sum(f["both"] for f in found),
        "missed": "; ".join(f"{f['number']}: {f['first']}" for f in found if not f["right"]),
    }


def case(key: tuple[str, int]) -> dict[str, Any]:
    """One session: what was first, and what was wrong with it."""
    name, number = key
    table, truth, side = scenario(name, number)
    reading = analysed(table, number).patterns
    first = reading.ranking[0]
    wrong_side = side is not None and first.side not in (side, None)
    return {
        "name": name,
        "number": number,
        "right": first.code == truth,
        "told": reading.told,
        "first": f"{first.code} {first.variant} ({first.strength})",
        "reversed": wrong_side and first.strength != "weak",
        "central": first.code == "central_suppression" and truth != first.code,
        "both": first.code == "peripheral_both" and truth != first.code,
    }


def analysed(table: Table, number: int) -> Any:
    """The analysis of one invented session."""
    import slowphase
    from slowphase.cli.simulated_session import session_from
    from slowphase.physiology.scenario import run as simulate
    from slowphase.physiology.scenario import scenario_from
    from slowphase.recording.session import Patient

    age = float(table["person"].get("age_years", 30.0))
    told: dict[str, str | float] = {"recording": "video", "alerting": "naming towns"}
    with threadpool_limits(1):
        trials = simulate(scenario_from(table))
        patient = Patient(code=f"P-{number}", age_years=age)
        return slowphase.analyze(session_from(trials, patient, date(2026, 1, 15), conditions=told))


def scenario(name: str, number: int) -> tuple[Table, str, str | None]:
    """The scenario's table, the code of its pattern and the side of the loss."""
    rng = np.random.default_rng([SEED, list(PEOPLE).index(name), number])
    side = ("right", "left")[number % 2]
    person, equipment, protocol = PEOPLE[name](rng, side)
    person = {"age_years": float(rng.integers(25, 75)), **person}
    whole = number % 3 != 2 or name in BATTERY
    trials = "full" if whole else "standard"
    table = {
        "seed": int(rng.integers(1, 10**6)),
        "person": person,
        "protocol": {"trials": trials} | protocol,
        "equipment": {"sampling_hz": float(rng.choice([120.0, 250.0]))} | equipment,
    }
    sided = name.startswith("peripheral_") and name.split("_")[1] not in ("partial", "severe")
    return table, TRUTH.get(name, name).format(side=side), side if sided else None


def _loss(rng: np.random.Generator, side: str, deep: tuple[float, float], by: tuple[float, float]):
    return {side: float(rng.uniform(*deep)), "compensated": float(rng.uniform(*by))}, {}, {}


def _acute(rng, side):
    return _loss(rng, side, (0.0, 0.35), (0.0, 0.25))


def _compensating(rng, side):
    return _loss(rng, side, (0.0, 0.35), (0.45, 0.65))


def _compensated(rng, side):
    return _loss(rng, side, (0.0, 0.4), (0.9, 1.0))


def _partial(rng, _side):
    right, left = rng.uniform(0.3, 0.55, 2)
    return {"right": float(right), "left": float(left), "compensated": 1.0}, {}, {}


def _severe(rng, _side):
    right, left = rng.uniform(0.03, 0.2, 2)
    return {"right": float(right), "left": float(left), "compensated": 1.0}, {}, {}


def _suppression(rng, _side):
    return {"suppression": float(rng.uniform(0.25, 0.6))}, {}, {}


def _long(rng, _side):
    return {"storage": float(rng.uniform(1.6, 2.0))}, {}, {}


def _short(rng, _side):
    return {"storage": float(rng.uniform(0.32, 0.42))}, {}, {}


def _preponderance(rng, side):
    bias = float(rng.uniform(3.0, 7.0)) * (1.0 if side == "right" else -1.0)
    return {"spontaneous": {"bias_deg_s": bias}}, {}, {}


def _dissociation(rng, side):
    person = {
        side: 0.85,
        f"{side}_caloric": float(rng.uniform(0.1, 0.3)),
        f"{side}_impulse": 1.0,
        "compensated": 1.0,
    }
    return person, {}, {}


def _normal(_rng, _side):
    return {}, {}, {}


def _drowsy(rng, _side):
    return {"alertness": float(rng.uniform(0.1, 0.3))}, {}, {}


def _leak(rng, _side):
    return {}, {}, {"light_leak": float(rng.uniform(0.4, 0.6))}


def _calibration(rng, _side):
    return {}, {"calibration": float(rng.uniform(1.9, 2.2))}, {}


PEOPLE = {
    "normal": _normal,
    "peripheral_acute": _acute,
    "peripheral_compensating": _compensating,
    "peripheral_compensated": _compensated,
    "peripheral_partial": _partial,
    "peripheral_severe": _severe,
    "central_suppression": _suppression,
    "storage_long": _long,
    "storage_short": _short,
    "preponderance": _preponderance,
    "dissociation": _dissociation,
    "drowsy": _drowsy,
    "light_leak": _leak,
    "bad_calibration": _calibration,
}
TRUTH = {
    "peripheral_acute": "peripheral_{side}",
    "peripheral_compensating": "peripheral_{side}",
    "peripheral_compensated": "peripheral_{side}",
    "peripheral_partial": "peripheral_both",
    "peripheral_severe": "peripheral_both",
    "drowsy": "not_interpretable",
    "light_leak": "not_interpretable",
    "bad_calibration": "not_interpretable",
}
