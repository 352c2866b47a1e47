"""Which module measures which kind of trial, and which puts the trials of one test together.

A new kind adds its file and a line here. A module is imported when a session has a trial of its
kind: a session has few of them, and starting up costs as much as measuring.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache
from importlib import import_module
from typing import Any

from slowphase.eye.settings import EyeSettings
from slowphase.measures.interval import Maker
from slowphase.measures.measure import Measure
from slowphase.measures.prepare import Prepared
from slowphase.measures.result import GroupResult, TrialResult
from slowphase.measures.settings import MeasureSettings
from slowphase.recording.trial import Trial

Group = Callable[[tuple[TrialResult, ...], MeasureSettings], tuple[GroupResult, ...]]


@dataclass(frozen=True, slots=True)
class Kind:
    """How a kind of trial is measured, and which measures it has when there is nothing to see.

    ``measure`` takes tracked eyes and their slow phase. ``of_trial`` takes the trial itself, where
    something else counts (jumps of a target, impulses, typed values), a recording or none. One of
    both is given. ``wavers`` says whether it has a response to the chair, whose strength alertness
    makes waver.
    """

    nothing: Callable[[Maker, str], list[Measure]]
    measure: Callable[[Prepared], TrialResult] | None = None
    of_trial: Callable[[Trial, EyeSettings, MeasureSettings], TrialResult] | None = None
    wavers: bool = False


@dataclass(frozen=True, slots=True)
class Home:
    """Where a kind lives: ``module:function`` of each part of `Kind`, below ``measures``."""

    nothing: str
    measure: str = ""
    of_trial: str = ""
    wavers: bool = False


KINDS: Mapping[str, Home] = {
    "spontaneous": Home("spontaneous:no_spontaneous", "fixating.measures:measure_rest"),
    "sinusoid": Home(
        "sinusoid_measures:no_sinusoid", "sinusoid_measures:measure_sinusoid", wavers=True
    ),
    "step": Home("step_measures:no_step", "step_measures:measure_step", wavers=True),
    "gaze": Home("gaze:no_gaze", "gaze:measure_gaze"),
    "positional": Home("positional:no_positional", "positional:measure_positional"),
    "caloric": Home("caloric:no_caloric", "caloric:measure_caloric"),
    "impulse": Home("impulse.measure:no_impulse", of_trial="impulse.measure:measure_impulse"),
    "calibration": Home("calibration:no_calibration", of_trial="calibration:measure_calibration"),
    "saccade": Home("saccade.measures:no_saccade", "saccade.measures:measure_saccade"),
    "pursuit": Home("pursuit:no_pursuit", "pursuit:measure_pursuit"),
    "optokinetic": Home(
        "optokinetic.measures:no_optokinetic", "optokinetic.measures:measure_optokinetic"
    ),
    "check": Home("check:no_check", of_trial="check:measure_check"),
    "values": Home("values:no_values", of_trial="values:measure_values"),
}
# Which function puts the trials together, and which test's trials it needs.
GROUPS: Mapping[str, str] = {
    "calibration": "recheck:group_calibration",
    "optokinetic": "optokinetic.sides:group_optokinetic",
    "gaze": "gaze_group:group_gaze",
    "positional": "positional_group:group_positional",
    "caloric": "caloric_group:group_calorics",
    "impulse": "impulse.together:group_impulses",
    "check": "check:check_group",
}


@cache
def kind_of(name: str) -> Kind | None:
    """How a kind of trial is measured; None where it is only shown."""
    home = KINDS.get(name)
    if home is None:
        return None
    return Kind(
        found(home.nothing),
        found(home.measure) if home.measure else None,
        found(home.of_trial) if home.of_trial else None,
        home.wavers,
    )


def groups_of(results: tuple[TrialResult, ...]) -> tuple[Group, ...]:
    """The functions that put together what the session has, in the order of the table."""
    tests = {test_of(result) for result in results}
    return tuple(found(place) for test, place in GROUPS.items() if test in tests)


def test_of(result: TrialResult) -> str:
    """The test that a trial belongs to: its kind, or what its typed values are of."""
    return str(result.stimulus.get("test")) if result.kind == "values" else result.kind


@cache
def found(place: str) -> Any:
    """The function at ``module:function`` below ``measures``."""
    module, _, name = place.partition(":")
    return getattr(import_module(f"slowphase.measures.{module}"), name)
