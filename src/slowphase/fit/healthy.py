"""The healthy model, and which parameters of a session's reflex have moved from it."""

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from slowphase.measures.measure import Measure


@dataclass(frozen=True, slots=True)
class HealthyParameter:
    """One parameter of the healthy model: its value and the range in which it has not moved."""

    name: str
    value: float
    low: float
    high: float
    unit: str
    text: str
    source: str
    mark: str


@cache
def healthy_model() -> dict[str, HealthyParameter]:
    """Every parameter of the healthy model by the name of its measure."""
    table = tomllib.loads((files(__package__) / "healthy.toml").read_text(encoding="utf-8"))
    return {name: HealthyParameter(name=name, **entry) for name, entry in table.items()}


@dataclass(frozen=True, slots=True)
class Moved:
    """One parameter beside the healthy model.

    ``where`` is ``within`` (its whole interval lies in the range), ``below`` or ``above`` (its
    whole interval lies outside), ``unsure`` (the interval crosses an end), ``not_told``.
    """

    parameter: HealthyParameter
    value: float | None
    low: float | None
    high: float | None
    where: str


def compare(measures: tuple[Measure, ...]) -> tuple[Moved, ...]:
    """Every parameter of the healthy model beside the session's."""
    known = {measure.name: measure for measure in measures}
    found = []
    for name, parameter in healthy_model().items():
        measure = known[name]
        where = whereabouts(measure.low, measure.high, parameter)
        found.append(Moved(parameter, measure.value, measure.low, measure.high, where))
    return tuple(found)


def whereabouts(low: float | None, high: float | None, parameter: HealthyParameter) -> str:
    """On which side of a range an interval lies."""
    if low is None or high is None:
        return "not_told"
    if high < parameter.low:
        return "below"
    if low > parameter.high:
        return "above"
    return "within" if low >= parameter.low and high <= parameter.high else "unsure"
