"""The truth of a simulated session as one JSON document.

It holds what a perfect estimator would return for each trial, the person and the equipment with
every parameter, and when quick phases and lapses took place. Times count from the start of each
trial's recording, as in its trace file. Numbers keep six significant digits (times five decimals);
an endless value is written ``"inf"``.
"""

import json
from collections.abc import Mapping, Sequence
from dataclasses import asdict, is_dataclass
from typing import Any

import numpy as np

from slowphase import __version__
from slowphase.foundation.arrays import BoolArray, FloatArray
from slowphase.physiology.oculomotor import Saccades
from slowphase.physiology.scenario import Scenario
from slowphase.physiology.session_truth import session_truth
from slowphase.physiology.simulate import SimulatedTrial

SCHEMA = 1
MADE_BY = "slowphase simulate"
DIGITS = 6


def truth_document(
    name: str, about: str, scenario: Scenario, trials: Sequence[SimulatedTrial], files: list[str]
) -> dict[str, Any]:
    """The document; ``files`` are those of the folder, by which it is known again."""
    return {
        "schema": SCHEMA,
        "made_by": MADE_BY,
        "version": __version__,
        "scenario": name,
        "about": about,
        "seed": scenario.seed,
        "person": plain(scenario.person),
        "equipment": plain(scenario.equipment),
        "session": plain(dict(session_truth(trials))),
        "trials": [_trial(trial) for trial in trials],
        "files": files,
    }


def to_text(document: Mapping[str, Any]) -> str:
    """One line per entry of a trial, so that the file can be read and compared."""
    head = {key: value for key, value in document.items() if key not in ("trials", "files")}
    lines = [f" {json.dumps(key)}: {_json(value)}," for key, value in head.items()]
    trials = ",\n".join(_trial_text(trial) for trial in document["trials"])
    files = f' "files": {_json(document["files"])}'
    return "\n".join(["{", *lines, ' "trials": [', trials, " ],", files, "}"]) + "\n"


def _trial_text(trial: Mapping[str, Any]) -> str:
    entries = (f"   {json.dumps(key)}: {_json(value)}" for key, value in trial.items())
    return "  {\n" + ",\n".join(entries) + "\n  }"


def _json(value: object) -> str:
    return json.dumps(value, ensure_ascii=False, allow_nan=False)


def plain(value: Any) -> Any:
    """A parameter as JSON holds it."""
    if is_dataclass(value) and not isinstance(value, type):
        return plain(asdict(value))
    if isinstance(value, Mapping):
        return {key: plain(entry) for key, entry in value.items()}
    if isinstance(value, list | tuple):
        return [plain(entry) for entry in value]
    return _number(value) if isinstance(value, float) else value


def _number(value: float) -> float | str:
    if np.isinf(value):
        return "inf" if value > 0 else "-inf"
    return float(f"{value:.{DIGITS}g}")


def _trial(trial: SimulatedTrial) -> dict[str, Any]:
    plan, truth = trial.plan, trial.truth
    return {
        "id": plan.id,
        "kind": plan.kind,
        "plan": plain(asdict(plan)),
        "measures": plain(dict(truth.measures)),
        "alert": truth.alert,
        "lapses_s": spells_of(truth.lapse, truth.time_s),
        "blinks_s": spells_of(truth.lid, truth.time_s),
        "events": plain({name: list(values) for name, values in truth.events.items()}),
        "quick_phases": _quick_phases(truth.quick_phases),
    }


def _quick_phases(saccades: Saccades) -> dict[str, list[float]]:
    """Horizontal saccades of any kind; sizes are signed, right is positive."""
    return {
        "onset_s": np.round(saccades.onset_s, 5).tolist(),
        "duration_s": np.round(saccades.duration_s, 5).tolist(),
        "amplitude_deg": np.round(saccades.amplitude_deg, 3).tolist(),
        "peak_velocity_deg_s": np.round(saccades.peak_velocity_deg_s, 1).tolist(),
    }


def spells_of(mask: BoolArray, time_s: FloatArray) -> list[list[float]]:
    """First and last time of each run of the mask."""
    edges = np.flatnonzero(np.diff(np.concatenate(([False], mask, [False])).astype(int)))
    return [
        [round(float(time_s[first]), 5), round(float(time_s[last - 1]), 5)]
        for first, last in edges.reshape(-1, 2)
    ]
