"""Units that a trace column may have, and what turns them into s, deg or deg/s."""

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit of time, angle or velocity, or uncalibrated; ``factor`` to s, deg or deg/s."""

    name: str
    quantity: str
    factor: float


@cache
def units() -> dict[str, Unit]:
    """Every unit by its name."""
    table = tomllib.loads((files(__package__) / "units.toml").read_text(encoding="utf-8"))
    return {name: Unit(name, entry["quantity"], entry["factor"]) for name, entry in table.items()}


@cache
def unit_spellings() -> dict[str, str]:
    """The names of units by every spelling met in headers, in lower case except volts."""
    table = tomllib.loads((files(__package__) / "units.toml").read_text(encoding="utf-8"))
    return {
        spelling.casefold(): name
        for name, entry in table.items()
        for spelling in (name, *entry["also"])
    }


def unit_of_text(text: str) -> Unit | None:
    """The unit that a text such as ``deg``, ``[°/s]`` or ``(ms)`` names, or None."""
    name = unit_spellings().get(text.strip().strip("[](){}\"'").strip().casefold())
    return None if name is None else units()[name]


def unit_names(*quantities: str) -> tuple[str, ...]:
    """The names of the units of some quantities, in the order of the table."""
    return tuple(name for name, unit in units().items() if unit.quantity in quantities)
