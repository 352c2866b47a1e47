"""Errors of the measures on simulated sessions with known truth, beside the plain script's.

All sessions of `tests/scenarios.py`, each for several invented persons; those that are hard on
purpose stand apart, and by themselves. Errors of gains and time constants in the dark are in
percent of the truth, which counts as at least 0.05; with a target, where hardly anything is left
of the response, gains are absolute. A missing value counts as worse than any other. The plain
script sees the sessions that it can read (both eyes and the chair recorded), and `ours_median`
and `ours_p90` are of the same values.
"""

import sys
import tempfile
import warnings
from collections import defaultdict
from collections.abc import Iterable, Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from threadpoolctl import threadpool_limits

from slowphase.analysis.run import analyze
from slowphase.physiology.truth import FIXATING
from slowphase.recording.write import write_session

from . import plain_script
from .errors import (
    FIXATED,
    Compared,
    compared,
    difference,
    error_unit,
    quantile,
    scale,
    shares,
    summary,
)

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))
import scenarios

SEEDS = (11, 12)
USUAL, HARD = "usual", "hard"
OF_EACH_HARD = (("sinusoid", "gain"), ("sinusoid", "phase"), ("step", "time_constant"))


@dataclass(frozen=True, slots=True)
class Result:
    """One session: our values and the plain script's, (trial, kind, name) to error."""

    name: str
    ours: list[Compared]
    plain: dict[tuple[str, str, str], float]


def run(
    usual: tuple[str, ...] = scenarios.NAMES, hard: tuple[str, ...] = scenarios.HARD_NAMES
) -> list[dict[str, object]]:
    """A row for all, one per measure, first of the usual, then of the hard recordings; then a few
    for each hard recording."""
    results = list(_results([*usual, *hard]))
    chosen = {
        USUAL: [result for result in results if result.name in usual],
        HARD: [result for result in results if result.name in hard],
    }
    rows = [row for group, some in chosen.items() for row in _rows(group, some)]
    for name in hard:
        rows += _rows(name, [r for r in results if r.name == name], only=OF_EACH_HARD)
    return rows


def _results(names: list[str]) -> Iterator[Result]:
    tasks = [(name, seed) for name in names for seed in SEEDS]
    with ProcessPoolExecutor() as pool:
        for index, result in enumerate(pool.map(one_session, tasks)):
            if index % 20 == 19:
                print(f"  {index + 1} of {len(tasks)} sessions", flush=True)
            yield result


def one_session(task: tuple[str, int]) -> Result:
    """Simulate, analyse and compare one session."""
    with threadpool_limits(1):
        session, truth = scenarios.scenario(*task)
        ours = list(compared(analyze(session), truth))
        return Result(task[0], ours, _plain(session, truth))


def _plain(session, truth) -> dict[tuple[str, str, str], float]:
    both = all("eye_h_left" in t.recording.channels for t in session.trials if t.recording)
    if not both or any(t.recording.head_velocity_deg_s is None for t in session.trials):
        return {}
    with tempfile.TemporaryDirectory() as folder, warnings.catch_warnings():
        warnings.simplefilter("ignore")
        write_session(session, folder)
        results = plain_script.analyse(Path(folder))
    return {
        (trial.id, kind, name): error
        for trial in session.trials
        for kind, name, error in _plain_errors(trial, results[trial.id], truth[trial.id].measures)
    }


def _plain_errors(trial, result, true) -> Iterator[tuple[str, str, float]]:
    fixated = trial.kind == "sinusoid" and trial.vision in FIXATING
    kind = trial.kind + FIXATED * fixated
    parts: list[tuple[str, dict[str, Any]]] = [("", result)]
    if trial.kind == "step":
        parts = [(f"{of}/", result[of]) for of in ("per", "post")]
    elif trial.kind == "spontaneous":
        parts = [("horizontal/", result)]
    for prefix, values in parts:
        for name, value in values.items():
            truth = true.get(prefix + name)
            if truth is not None:
                yield kind, prefix + name, _error(kind, name, value, truth)


def _error(kind: str, name: str, value: float | None, true: float) -> float:
    if value is None:
        return np.inf
    return scale(error_unit(kind, name), true) * difference(name, value, true)


def _rows(
    recordings: str, results: list[Result], *, only: Iterable[tuple[str, str]] | None = None
) -> list[dict[str, object]]:
    """A row for all values and one per measure, in the order in which they were met."""
    groups: dict[tuple[str, str, str], list[Compared]] = defaultdict(list)
    for result in results:
        for value in result.ours:
            groups[value.kind, value.name, value.unit].append(value)
    everything = [value for group in groups.values() for value in group]
    start = {"recordings": recordings}
    rows = [start | {"kind": "all", "measure": "all", "n": len(everything)} | shares(everything)]
    for (kind, name, unit), values in sorted(groups.items(), key=lambda item: item[0]):
        if only is None or (kind, name) in only:
            row = start | {"kind": kind, "measure": name, "unit": unit} | summary(values)
            rows.append(row | (_beside(kind, name, results) if only is None else {}))
    return rows


def _beside(kind: str, name: str, results: list[Result]) -> dict[str, object]:
    """Errors of the plain script, and ours of the same values."""
    plain, ours = [], []
    for result in results:
        for value in result.ours:
            theirs = result.plain.get((value.trial, kind, value.key))
            if value.kind == kind and value.name == name and theirs is not None:
                plain.append(theirs)
                ours.append(value.error)
    if not plain:
        return {}
    return {
        "plain_n": len(plain),
        "plain_median": quantile(np.array(plain), 50),
        "plain_p90": quantile(np.array(plain), 90),
        "ours_median": quantile(np.array(ours), 50),
        "ours_p90": quantile(np.array(ours), 90),
    }
