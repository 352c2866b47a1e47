"""What function is left at which frequency on each side: every test as a share of one yardstick.

    share = value / the lowest that still counts as healthy

so that 1 means the same in every test: below it is less than the healthy have. For the chair it is
the gain of the healthy model (``fit/healthy.toml``, lower ends) at this frequency or step: one
yardstick for all frequencies, because published sets differ from one another by up to a factor of
two, and would make a step where one of them ends. Calorics and impulses have theirs in
``function.toml``. A chair value by exciting direction is never the function of one labyrinth.
"""

import tomllib
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

import numpy as np

from slowphase.fit.healthy import healthy_model
from slowphase.foundation.reasons import Grade
from slowphase.measures.impulse.together import canal_gain
from slowphase.measures.measure import Measure, Side
from slowphase.measures.prepare import number
from slowphase.measures.repeats import firsts
from slowphase.measures.result import GroupResult, TrialResult
from slowphase.measures.step import Change
from slowphase.measures.step_response import response_alone
from slowphase.measures.step_shape import NO_MISFIT
from slowphase.physiology.storage import effective
from slowphase.physiology.transfer import frequency_response

HALVES: Mapping[str, Side | None] = {"gain": None, "gain_right": "right", "gain_left": "left"}
SIDES: tuple[Side, Side] = ("right", "left")


@dataclass(frozen=True, slots=True)
class Healthy:
    """What counts as healthy, in the unit of the measure, and who says so; ``mark`` as in the sets.

    ``middle`` and ``highest`` are None where only a lowest is known.
    """

    lowest: float
    source: str
    mark: str
    middle: float | None = None
    highest: float | None = None


@dataclass(frozen=True, slots=True)
class FunctionPoint:
    """One measure on the axis of frequency, as a share of the lowest that counts as healthy.

    ``side`` is the ear or the side of the impulse, or the direction that a chair value excites
    (then ``exciting`` is true); None for a whole response. ``low`` and ``high`` are the 95 %
    interval of the share, None where the value has none.
    """

    test: str
    frequency_hz: float
    side: Side | None
    exciting: bool
    measure: str
    value: float
    unit: str
    share: float
    low: float | None
    high: float | None
    healthy: Healthy
    grade: Grade

    @property
    def healthy_share(self) -> tuple[float, float] | None:
        """Middle and highest healthy value as shares of the lowest; None where not known."""
        known = self.healthy
        if known.middle is None or known.highest is None:
            return None
        return known.middle / known.lowest, known.highest / known.lowest


def function_points(
    trials: tuple[TrialResult, ...], groups: tuple[GroupResult, ...]
) -> tuple[FunctionPoint, ...]:
    """Every point that the session has, from slow to fast.

    Unusable measures have no point. Repeats take part through the trial that they repeat.
    """
    dark = [trial for trial in firsts(trials) if trial.vision in (None, "dark")]
    found = [
        *(p for trial in dark if trial.kind == "sinusoid" for p in of_sinusoid(trial)),
        *(p for trial in dark if trial.kind == "step" for p in of_step(trial)),
        *(p for group in groups if group.kind == "caloric" for p in of_ears(group)),
        *(p for group in groups if group.kind == "impulse" for p in of_impulses(group, trials)),
    ]
    return tuple(sorted(found, key=lambda point: point.frequency_hz))


def of_sinusoid(trial: TrialResult) -> Iterator[FunctionPoint]:
    """The whole gain and both half gains of a sinusoid in the dark."""
    frequency = number(trial.stimulus, "frequency_hz")
    known = [m for m in trial.measures if m.name in HALVES and usable(m)]
    if known and frequency > 0.0:
        healthy = model_gain(frequency)
        for measure in known:
            side = HALVES[measure.name]
            yield point("sinusoid", frequency, side, measure, healthy, exciting=side is not None)


def of_step(trial: TrialResult) -> Iterator[FunctionPoint]:
    """The gain of each response to a change of velocity."""
    changes = {change.of: change for change in trial.carried.changes} if trial.carried else {}
    for measure in trial.measures:
        change = changes.get(str(measure.of))
        if measure.name == "gain" and usable(measure) and change is not None:
            place = float(table()["step"]["frequency_hz"])
            yield point("step", place, measure.exciting, measure, model_step(change), exciting=True)


def of_ears(group: GroupResult) -> Iterator[FunctionPoint]:
    """The caloric total of each ear."""
    for side in SIDES:
        own = (m for m in group.measures if (m.name, m.of) == ("total", f"{side} ear"))
        yield from at_an_end("caloric", side, next(own, None))


def of_impulses(group: GroupResult, trials: tuple[TrialResult, ...]) -> Iterator[FunctionPoint]:
    """The gain of each lateral canal; vertical canals have no place beside a horizontal chair."""
    own = [trial for trial in trials if trial.id in group.trials]
    for side in SIDES:
        yield from at_an_end("impulse", side, canal_gain(own, f"{side} lateral", "gain"))


def at_an_end(test: str, side: Side, measure: Measure | None) -> Iterator[FunctionPoint]:
    """The point of a test that stands at one end of the axis, where it was measured."""
    if measure is not None and usable(measure):
        entry = table()[test]
        healthy = Healthy(entry["lowest"], entry["source"], entry["mark"])
        yield point(test, entry["frequency_hz"], side, measure, healthy, exciting=False)


def usable(measure: Measure) -> bool:
    """Whether a measure may stand in a picture of function."""
    return measure.value is not None and measure.grade != "unusable"


def point(
    test: str,
    frequency_hz: float,
    side: Side | None,
    measure: Measure,
    healthy: Healthy,
    *,
    exciting: bool,
) -> FunctionPoint:
    """A measure with its value, as a share of the lowest that counts as healthy."""
    value = measure.value or 0.0
    ends = (measure.low, measure.high)
    low, high = (None if end is None else end / healthy.lowest for end in ends)
    return FunctionPoint(
        test=test,
        frequency_hz=frequency_hz,
        side=side,
        exciting=exciting,
        measure=measure.id,
        value=value,
        unit=measure.unit,
        share=value / healthy.lowest,
        low=low,
        high=high,
        healthy=healthy,
        grade=measure.grade,
    )


def model_gain(frequency_hz: float) -> Healthy:
    """The gain of the healthy model at one frequency, with its ends."""
    return _of_model(lambda gain, decay_s: gain * abs(_filtered(decay_s, frequency_hz)))


def _filtered(decay_s: float, frequency_hz: float) -> complex:
    filter_ = effective(decay_s, healthy_model()["adaptation"].value)
    return complex(frequency_response(filter_, np.array([frequency_hz]))[0])


def model_step(change: Change) -> Healthy:
    """The gain of the healthy model's response to one change of chair velocity."""
    adaptation_s = healthy_model()["adaptation"].value
    return _of_model(
        lambda gain, decay_s: response_alone(change, gain, decay_s, adaptation_s, NO_MISFIT).gain
    )


def _of_model(response: Callable[[float, float], float]) -> Healthy:
    """A response to gain and decay (s) at the lower ends, the values and the upper ends."""
    gain, decay = healthy_model()["gain_right"], healthy_model()["decay_right"]
    return Healthy(
        lowest=response(gain.low, decay.low),
        source=model_source(),
        mark="computed",
        middle=response(gain.value, decay.value),
        highest=response(gain.high, decay.high),
    )


def model_source() -> str:
    """What the ends of the healthy model rest on."""
    model = healthy_model()
    return f"healthy model: {model['gain_right'].source}; decay {model['decay_right'].source}"


@cache
def table() -> dict[str, dict[str, Any]]:
    """Where each test stands on the axis, and the lowest that counts as healthy in it."""
    return tomllib.loads((files(__package__) / "function.toml").read_text(encoding="utf-8"))
