"""A scenario: person, protocol, equipment and seed, from plain nested tables.

Every key is the name of a field; what is not given keeps its default. The protocol is a list of
changes: each entry names a trial of the standard protocol to change or drop, or adds one.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, fields, is_dataclass, replace
from typing import Any, TypeVar, cast

from slowphase.foundation.errors import UsageError
from slowphase.physiology.person import Person
from slowphase.physiology.protocol import TrialPlan, standard_protocol
from slowphase.physiology.recorder import Equipment
from slowphase.physiology.simulate import SimulatedTrial, simulate

Value = TypeVar("Value")


@dataclass(frozen=True, slots=True)
class Scenario:
    """Everything that decides one simulated session."""

    person: Person = field(default_factory=Person)
    protocol: tuple[TrialPlan, ...] = field(default_factory=standard_protocol)
    equipment: Equipment = field(default_factory=Equipment)
    seed: int = 1


def run(scenario: Scenario) -> tuple[SimulatedTrial, ...]:
    """The recorded trials of a scenario with their truth."""
    return simulate(scenario.person, scenario.protocol, scenario.equipment, seed=scenario.seed)


def changed(value: Value, table: Mapping[str, object]) -> Value:
    """The dataclass with the fields of the table changed, tables within tables.

    Raises ``UsageError`` for a key that is no field.
    """
    record: Any = value
    known = {item.name for item in fields(record)}
    unknown = sorted(set(table) - known)
    if unknown:
        raise UsageError(
            f"unknown {unknown[0]!r} for {type(value).__name__}; known: {', '.join(sorted(known))}"
        )
    entries = {key: _field(getattr(value, key), entry) for key, entry in table.items()}
    return cast("Value", replace(record, **entries))


def _field(current: Any, entry: object) -> object:
    if isinstance(entry, Mapping) and is_dataclass(current):
        return changed(current, entry)
    return tuple(entry) if isinstance(entry, list) else entry


def protocol_from(entries: Sequence[Mapping[str, object]]) -> tuple[TrialPlan, ...]:
    """The standard protocol with the entries applied in order.

    An entry with a known ``id`` changes that trial, or drops it with ``drop = true``; a new ``id``
    adds a trial after the one named by ``after``, or at the end, starting from the trial named by
    ``like``.
    """
    plans = list(standard_protocol())
    for entry in entries:
        _apply(plans, dict(entry))
    return tuple(plans)


def _apply(plans: list[TrialPlan], entry: dict[str, object]) -> None:
    drop, after, like = (entry.pop(key, None) for key in ("drop", "after", "like"))
    ids = [plan.id for plan in plans]
    if entry["id"] in ids:
        index = ids.index(str(entry["id"]))
        plans[index : index + 1] = [] if drop else [changed(plans[index], entry)]
        return
    model = plans[ids.index(str(like))] if like else TrialPlan(id="", kind="spontaneous")
    place = ids.index(str(after)) + 1 if after else len(plans)
    plans.insert(place, changed(model, entry))


def scenario_from(table: Mapping[str, Any]) -> Scenario:
    """A scenario from a parsed table with ``person``, ``trial``, ``equipment`` and ``seed``."""
    return Scenario(
        person=changed(Person(), table.get("person", {})),
        protocol=protocol_from(table.get("trial", ())),
        equipment=changed(Equipment(), table.get("equipment", {})),
        seed=int(table.get("seed", 1)),
    )
