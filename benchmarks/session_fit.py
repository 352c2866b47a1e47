"""Does the whole-session fit cover, and does the agreement test keep its level and find errors?

Random persons (`regimes.py`, usual and acute in turn) sit through the standard protocol, reduced to
their slow phases (`reduced.py`); seeds are fixed in advance. Coverage is the share of 95 %
intervals that hold the truth. The agreement test rejects at p < 0.05; planted errors are 12 deg of
phase at two frequencies drawn at random.
"""

from concurrent.futures import ProcessPoolExecutor
from time import perf_counter

import numpy as np
from threadpoolctl import threadpool_limits

from slowphase.fit.agreement import agreement
from slowphase.fit.settings import FitSettings
from slowphase.fit.whole_session import fit_session
from slowphase.measures.interval import t_quantile
from slowphase.physiology.person import Person
from slowphase.physiology.protocol import TrialPlan, standard_protocol

from . import regimes
from .reduced import GRID_HZ, reduced_session

SEED = 20261126
SESSIONS = 2000
PLANTED = 500
PLANTED_DEG = 12.0
LEVEL = 0.05
NAMES = (
    "gain_right",
    "gain_left",
    "log decay",
    "log decay ratio",
    "log adaptation",
    "latency",
    "nystagmus",
    "nystagmus_change",
    "gaze_slope",
)


def run(sessions: int = SESSIONS, planted: int = PLANTED) -> list[dict[str, object]]:
    """One row for each parameter, one for each kind of session of the agreement test."""
    with ProcessPoolExecutor() as pool:
        plain = list(pool.map(_study, range(sessions), chunksize=4))
        spoilt = list(pool.map(_planted, range(planted), chunksize=4))
    rows = [_coverage(name, index, plain) for index, name in enumerate(NAMES)]
    for name, found in (("one reflex", plain), ("12 deg planted at two", spoilt)):
        p = np.array([session["p"] for session in found])
        rows.append({"study": "agreement", "of": name, "n": p.size,
                     "rejected_pct": round(100 * float(np.mean(p < LEVEL)), 1)})  # fmt: skip
    seconds = float(np.median([session["seconds"] for session in plain]))
    rows.append({"study": "time", "of": "joint fit", "n": len(plain),
                 "median_s": round(seconds, 3)})  # fmt: skip
    return rows


def _coverage(name: str, index: int, found: list[dict[str, object]]) -> dict[str, object]:
    value, half, truth = (
        np.array([session[key] for session in found])[:, index]
        for key in ("value", "half", "truth")
    )
    return {
        "study": "coverage",
        "of": name,
        "n": len(found),
        "coverage_pct": round(100 * float(np.mean(np.abs(value - truth) <= half)), 1),
        "median_error": float(f"{np.median(np.abs(value - truth)):.3g}"),
        "median_half_width": float(f"{np.median(half):.3g}"),
    }


def _study(number: int) -> dict[str, object]:
    with threadpool_limits(1):
        return _session(number, plant=False)


def _planted(number: int) -> dict[str, object]:
    with threadpool_limits(1):
        return _session(number, plant=True)


def _session(number: int, *, plant: bool) -> dict[str, object]:
    rng = np.random.default_rng([SEED, int(plant), number])
    person = (regimes.acute if number % 2 else regimes.nobody_special)(rng)
    plans = standard_protocol()
    results = reduced_session(person, plans, rng, disturb=_disturb(plans, rng) if plant else None)
    carried = tuple(result.carried for result in results if result.carried is not None)
    start = perf_counter()
    fit = fit_session(carried, FitSettings())
    seconds = perf_counter() - start
    if fit is None:
        raise RuntimeError(f"session {number}: nothing was fitted")
    shared = len(NAMES)
    quantile = np.array([t_quantile(float(degrees)) for degrees in fit.degrees[:shared]])
    return {
        "value": fit.parameters[:shared],
        "half": quantile * fit.standard_errors[:shared],
        "truth": _truth(person),
        "p": agreement(fit, FitSettings()).p,
        "seconds": seconds,
    }


def _truth(person: Person) -> np.ndarray:
    right, left = person.reflex.right, person.reflex.left
    decays = np.log([right.dynamics.decay_s, left.dynamics.decay_s])
    return np.array(
        [
            right.gain,
            left.gain,
            decays.mean(),
            decays[0] - decays[1],
            np.log(right.dynamics.adaptation_s),
            person.reflex.latency_s,
            person.spontaneous.bias_deg_s,
            0.0,
            person.oculomotor.gaze_leak_per_s,
        ]
    )


def _disturb(plans: tuple[TrialPlan, ...], rng: np.random.Generator):
    dark = [p.frequency_hz for p in plans if p.kind == "sinusoid" and p.vision == "dark"]
    chosen = set(rng.choice(dark, 2, replace=False).tolist())
    way = float(rng.choice([-1.0, 1.0]))

    def shifted(plan: TrialPlan, head: np.ndarray) -> np.ndarray:
        if plan.kind != "sinusoid" or plan.vision != "dark" or plan.frequency_hz not in chosen:
            return head
        return np.roll(head, round(way * PLANTED_DEG / 360.0 / plan.frequency_hz * GRID_HZ))

    return shifted
