"""A scenario: person, protocol, equipment and seed, from plain nested tables.

``person`` has short keys (see ``short_form.py``) and tables whose keys are the names of fields;
what is not given keeps its default. The protocol is a list of changes: each entry names a trial
of the protocol to change or drop, or adds one.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, fields, is_dataclass, replace
from math import pi
from typing import Any, TypeVar, cast

from slowphase.foundation.errors import UsageError
from slowphase.physiology.field_check import check_known, check_value, field_types, ranges, shown
from slowphase.physiology.person import Person
from slowphase.physiology.protocol import TrialPlan, standard_protocol
from slowphase.physiology.protocol_choice import ProtocolChoice, plans_of
from slowphase.physiology.recorder import Equipment
from slowphase.physiology.short_form import ShortForm, parts_of, person_of
from slowphase.physiology.simulate import SimulatedTrial, simulate

Value = TypeVar("Value")

DECIDING = ("person", "protocol", "trial", "equipment", "seed")
SHORTEST_S = 1.0  # of a recording
DESCRIBING = ("about", "patient", "session", "conditions", "folder", "layout")


@dataclass(frozen=True, slots=True)
class Scenario:
    """Everything that decides one simulated session."""

    person: Person = field(default_factory=Person)
    protocol: tuple[TrialPlan, ...] = field(default_factory=standard_protocol)
    equipment: Equipment = field(default_factory=Equipment)
    seed: int = 1


def run(
    scenario: Scenario, *, progress: Callable[[str], None] | None = None
) -> tuple[SimulatedTrial, ...]:
    """The recorded trials of a scenario with their truth; ``progress`` hears each trial's id."""
    return simulate(
        scenario.person,
        scenario.protocol,
        scenario.equipment,
        seed=scenario.seed,
        progress=progress,
    )


def changed(value: Value, table: Mapping[str, object], where: str = "") -> Value:
    """The dataclass with the fields of the table changed, tables within tables.

    Raises ``UsageError`` for a key that is no field, and for a value of another type or out of
    its range; ``where`` names the table in the message.
    """
    record: Any = value
    where = where or type(value).__name__
    check_known(table, (item.name for item in fields(record)), where)
    kind: Any = type(value)
    kinds = field_types(kind)
    entries = {
        key: _field(getattr(value, key), kinds[key], entry, f"{where}.{key}", key)
        for key, entry in table.items()
    }
    return cast("Value", replace(record, **entries))


def _field(current: Any, kind: Any, entry: object, where: str, name: str) -> object:
    if isinstance(entry, Mapping) and is_dataclass(current):
        return changed(current, entry, where)
    check_value(entry, kind, where, name)
    return tuple(entry) if isinstance(entry, list) else entry


def person_from(table: Mapping[str, object]) -> Person:
    """The person of a ``[person]`` table; without a short key the default person is the start."""
    known = {item.name for kind in (ShortForm, Person) for item in fields(kind)}
    check_known(table, known, "person")
    short, detail = parts_of(table)
    start = person_of(changed(ShortForm(), short, "person")) if short else Person()
    return changed(start, detail, "person")


def protocol_from(
    entries: Sequence[Mapping[str, object]], *, base: Sequence[TrialPlan] | None = None
) -> tuple[TrialPlan, ...]:
    """The protocol ``base`` (the standard one) with the entries applied in order.

    An entry with a known ``id`` changes that trial, or drops it with ``drop = true``; a new ``id``
    adds a trial after the one named by ``after``, or at the end, starting from the trial named by
    ``like``.
    """
    plans = list(standard_protocol() if base is None else base)
    for number, entry in enumerate(entries, start=1):
        _apply(plans, dict(entry), f"trial {shown(entry.get('id', number))}")
    for plan in plans:
        _check_plan(plan)
    return tuple(plans)


def _apply(plans: list[TrialPlan], entry: dict[str, object], where: str) -> None:
    drop, after, like = (entry.pop(key, None) for key in ("drop", "after", "like"))
    ids = [plan.id for plan in plans]
    if "id" not in entry:
        raise UsageError(f"{where}: there is no id; there are trials {', '.join(ids)}")
    for other in (after, like):
        if other is not None:
            check_known([str(other)], ids, where)
    if entry["id"] in ids:
        index = ids.index(str(entry["id"]))
        plans[index : index + 1] = [] if drop else [changed(plans[index], entry, where)]
        return
    if drop:
        check_known([str(entry["id"])], ids, where)
    if like is None and "kind" not in entry:
        raise UsageError(f"{where}: a new trial needs a kind, or like = the id of another trial")
    model = plans[ids.index(str(like))] if like else TrialPlan(id="", kind="spontaneous")
    place = ids.index(str(after)) + 1 if after else len(plans)
    plans.insert(place, changed(model, entry, where))


def _check_plan(plan: TrialPlan) -> None:
    """Raises ``UsageError`` for a trial whose keys do not go together."""
    problem = _missing(plan) or _impossible(plan)
    if problem:
        raise UsageError(f'trial "{plan.id}": {problem}')


def _missing(plan: TrialPlan) -> str | None:
    if plan.kind in ("sinusoid", "pursuit", "head-shaking") and not plan.frequency_hz:
        return f"a {plan.kind} needs frequency_hz"
    if plan.kind in ("calibration", "saccade") and not plan.targets_deg:
        return f"a {plan.kind} needs targets_deg, such as [0, 10, -10]"
    return None


def _impossible(plan: TrialPlan) -> str | None:
    if plan.recorded_from_s > plan.length_s - SHORTEST_S:
        return (
            f"recorded_from_s = {plan.recorded_from_s:g}: the trial lasts {plan.length_s:g} s, and "
            f"at least {SHORTEST_S:g} s must be recorded"
        )
    if plan.fixation_s is not None and plan.fixation_s[0] >= plan.fixation_s[1]:
        return "fixation_s must be two rising numbers, such as [85, 95]"
    swing_deg = plan.peak_velocity_deg_s / (2 * pi * plan.frequency_hz) if plan.frequency_hz else 0
    if plan.kind == "pursuit" and swing_deg > ranges()["targets_deg"].high:
        return (
            f"the target would swing by {swing_deg:.0f} deg: allowed is up to "
            f"{ranges()['targets_deg'].high:g} deg; lower peak_velocity_deg_s"
        )
    return None


def scenario_from(table: Mapping[str, Any]) -> Scenario:
    """A scenario from a parsed table.

    ``person``, ``protocol``, ``trial``, ``equipment`` and ``seed`` decide what is simulated; other
    known keys describe it, and are left to the caller. Raises ``UsageError`` for what is unknown
    or out of range.
    """
    check_known(table, (*DECIDING, *DESCRIBING), "the scenario")
    for name, kind in (("person", dict), ("protocol", dict), ("equipment", dict), ("trial", list)):
        if not isinstance(table.get(name, kind()), kind | tuple):
            raise UsageError(f"{name} is no table of keys")
    check_value(table.get("seed", 1), int, "seed", "seed")
    base = plans_of(changed(ProtocolChoice(), table.get("protocol", {}), "protocol"))
    return Scenario(
        person=person_from(table.get("person", {})),
        protocol=protocol_from(table.get("trial", ()), base=base),
        equipment=changed(Equipment(), table.get("equipment", {}), "equipment"),
        seed=table.get("seed", 1),
    )
