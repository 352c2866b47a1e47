"""Do the 95 % intervals cover, and how close do the measures come to what is possible?

At least 2,000 simulated trials in each regime (`regimes.py`), seeds fixed in advance. Coverage is
the share of intervals that hold the truth. Efficiency is the variance of the measure's error over
that of an oracle that is given the same noisy samples with the true mask of quick phases; in the
clean regime also over the Cramér-Rao bound (`oracle.py`). Missing and `unusable` values take no
part and are counted.
"""

from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from datetime import date

import numpy as np
from threadpoolctl import threadpool_limits

from slowphase.cli.simulated_session import session_from
from slowphase.eye.settings import EyeSettings
from slowphase.measures.kinds import as_one_patient, measure_prepared
from slowphase.measures.measure import Measure
from slowphase.measures.prepare import prepare
from slowphase.measures.result import TrialResult
from slowphase.measures.settings import MeasureSettings
from slowphase.measures.suppression import pair_suppression
from slowphase.recording.session import Patient

from . import regimes
from .oracle import BOUNDED, oracle, trial_bounds

SESSIONS = 250  # of eight trials: 2,000 trials in each regime
BOUND_SESSIONS = 60
STUDIED = {
    ("spontaneous", "velocity"),
    ("sinusoid", "gain"),
    ("sinusoid", "phase"),
    ("sinusoid", "bias"),
    ("sinusoid", "gain_right"),
    ("sinusoid", "gain_left"),
    ("sinusoid", "asymmetry"),
    ("step", "gain"),
    ("step", "time_constant"),
    ("step", "bias"),
    ("suppression", "suppression"),
}
ON_LOG_SCALE = "time_constant"


@dataclass(frozen=True, slots=True)
class Row:
    """One measure of one simulated trial; ``best`` is the oracle's value, ``bound`` the smallest
    standard error possible."""

    regime: str
    trial: str
    measure: str
    true: float
    value: float
    low: float
    high: float
    grade: str
    best: float
    bound: float


def run(sessions: int = SESSIONS) -> list[dict[str, object]]:
    """One table row per regime and measure."""
    rows = all_rows(sessions)
    keys = dict.fromkeys((row.regime, row.measure) for row in rows)
    return [
        summary(regime, measure, [r for r in rows if (r.regime, r.measure) == (regime, measure)])
        for regime, measure in keys
    ]


def all_rows(sessions: int, names: tuple[str, ...] = tuple(regimes.REGIMES)) -> list[Row]:
    """Every measure of every simulated trial, in a fixed order."""
    tasks = [(name, number) for name in names for number in range(sessions)]
    rows: list[Row] = []
    with ProcessPoolExecutor() as pool:
        for index, found in enumerate(pool.map(_session_rows, tasks, chunksize=4)):
            rows += found
            if (index + 1) % sessions == 0:
                print(f"  {tasks[index][0]}: {sessions} sessions", flush=True)
    return rows


def _session_rows(task: tuple[str, int]) -> list[Row]:
    with threadpool_limits(1):
        return list(session_rows(*task))


def session_rows(name: str, number: int) -> Iterator[Row]:
    """The rows of one simulated session."""
    person, equipment, trials = regimes.session(name, number)
    session = session_from(trials, Patient("STUDY", 50.0), date(2026, 1, 15))
    found, best = [], []
    bounds: dict[str, float] = {}
    for trial, made in zip(session.trials, trials, strict=True):
        prepared = prepare(trial, EyeSettings(), MeasureSettings())
        if prepared is None:
            raise RuntimeError(f"{name} {number} {trial.id}: no eye was found")
        found.append((prepared, measure_prepared(prepared, EyeSettings())))
        best.append(oracle(prepared, made.truth, EyeSettings()))
        if name == BOUNDED and number < BOUND_SESSIONS:
            bounds |= trial_bounds(prepared, made, person, equipment)
    truth = {trial.plan.id: trial.truth.measures for trial in trials}
    known = {measure.id: measure for measure in _measures(best)}
    for measure in _measures(as_one_patient(found, EyeSettings())):
        true = true_value(measure, truth)
        if true is not None:
            yield _row(name, measure, true, known.get(measure.id), bounds)


def _measures(results: Sequence[TrialResult]) -> Iterator[Measure]:
    for result in results:
        for measure in result.measures:
            if (result.kind, measure.name) in STUDIED and measure.of != "vertical":
                yield measure
    for pair in pair_suppression(tuple(results), MeasureSettings()):
        yield from (m for m in pair.measures if ("suppression", m.name) in STUDIED)


def true_value(measure: Measure, truth: dict[str, dict[str, float | None]]) -> float | None:
    """The truth of a measure; None where there is none."""
    trial = measure.id.split("/")[0].split("~")[-1]
    key = f"{measure.of}/{measure.name}" if measure.of else measure.name
    return truth[trial].get(key)


def _row(
    name: str, measure: Measure, true: float, best: Measure | None, bounds: dict[str, float]
) -> Row:
    def known(value: float | None) -> float:
        return float("nan") if value is None else value

    kind = measure.id.split("-")[0].split("/")[0]
    return Row(
        regime=name,
        trial=measure.id,
        measure=f"{kind} {measure.name}",
        true=true,
        value=known(measure.value),
        low=known(measure.low),
        high=known(measure.high),
        grade=measure.grade,
        best=known(best.value if best else None),
        bound=bounds.get(measure.id, float("nan")),
    )


def summary(regime: str, measure: str, rows: list[Row]) -> dict[str, object]:
    """Coverage, half width, errors, and both efficiencies."""
    used = [row for row in rows if np.isfinite(row.value) and row.grade != "unusable"]
    true, value, low, high, best, bound = (
        np.array([getattr(row, key) for row in used])
        for key in ("true", "value", "low", "high", "best", "bound")
    )
    covered = (low <= true) & (true <= high)
    scale = np.log if measure.endswith(ON_LOG_SCALE) else np.asarray
    error, half = scale(value) - scale(true), (scale(high) - scale(low)) / 2
    least = scale(best) - scale(true)
    both, bounded = np.isfinite(least), np.isfinite(bound)
    row = {
        "regime": regime,
        "measure": measure,
        "n": len(rows),
        "given_pct": round(100 * len(used) / len(rows), 1),
        "coverage_pct": round(100 * float(np.mean(covered)), 1),
        "median_error": _short(np.median(np.abs(error))),
        "p90_error": _short(np.percentile(np.abs(error), 90)),
        "median_half_width": _short(np.median(half)),
        "variance_over_oracle": _ratio(error[both], least[both]),
    }
    if bounded.any():
        row["variance_over_bound"] = round(
            float(np.mean((error[bounded] / bound[bounded]) ** 2)), 2
        )
    return row


def _ratio(error: np.ndarray, least: np.ndarray) -> float:
    return round(float(np.mean(error**2) / np.mean(least**2)), 2)


def _short(value: float) -> float:
    return float(f"{value:.3g}")
