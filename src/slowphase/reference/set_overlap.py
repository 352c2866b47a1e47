"""Groups of one set that hold for the same people: which of them is meant cannot be known."""

from collections.abc import Iterator, Mapping
from typing import Any

from slowphase.foundation.problem import Problem
from slowphase.reference.set_check import SetPlace
from slowphase.reference.set_values import curve, is_number, pair

FREQUENCY_TOLERANCE = 0.05
_SAME = ("measure", "kind", "unit", "vision", "of", "definition", "peak_velocity_deg_s",
         "recording", "alerting")  # fmt: skip
Table = Mapping[str, Any]
Placed = tuple[Table, Table, SetPlace]


def check_overlaps(groups: list[Placed]) -> Iterator[Problem]:
    """One problem for each group that holds for people of an earlier one, at the same stimulus.

    Each group comes as its entry with the defaults, the group, and its place. Ages are completed
    years, both ends included; a group without ages or sex holds for all of them.
    """
    earlier: dict[str, list[Placed]] = {}
    for entry, group, place in groups:
        alike = earlier.setdefault(repr([entry.get(key) for key in _SAME]), [])
        for other_entry, other, other_place in alike:
            if _same_frequency(entry, other_entry) and _same_people(group, other):
                yield place.problem(
                    "ages" if "ages" in group else "",
                    f"the group holds for people of {other_place.name()} too ({_who(other)})",
                    expected="one group for each age and sex of a measure, such as "
                    "ages = [20, 39] and then [40, 59]",
                    remedy="correct the ages or the sex, or take one of them out",
                )
                break
        alike.append((entry, group, place))


def _same_frequency(one: Table, other: Table) -> bool:
    """Whether they share a frequency; two single ones only when each is as good as the other.

    Frequencies 6 % apart are two stimuli (as ``reference build`` keeps them), although what lies
    between fits both.
    """
    singles = [entry["frequency_hz"] for entry in (one, other) if is_number(_single(entry))]
    if len(singles) == 2:
        return bool(max(singles) / min(singles) - 1.0 <= FREQUENCY_TOLERANCE)
    return _meet(frequency_range_hz(one), frequency_range_hz(other))


def _single(entry: Table) -> object:
    return entry.get("frequency_hz")


def _same_people(one: Table, other: Table) -> bool:
    sexes = {group["sex"] for group in (one, other) if "sex" in group}
    return len(sexes) < 2 and _meet(_ages(one), _ages(other))


def _meet(one: tuple[float, float] | None, other: tuple[float, float] | None) -> bool:
    """Whether two ranges share a point; None is no limit."""
    return one is None or other is None or max(one[0], other[0]) <= min(one[1], other[1])


def _ages(group: Table) -> tuple[float, float] | None:
    by_age = curve(group.get("curve"))
    ends = (by_age[0].age_years, by_age[-1].age_years) if by_age else None
    return pair(group.get("ages")) or ends


def frequency_range_hz(entry: Table) -> tuple[float, float] | None:
    """The frequencies that an entry holds for, None where it names none."""
    single = entry.get("frequency_hz")
    if isinstance(single, int | float) and is_number(single):
        return single * (1 - FREQUENCY_TOLERANCE), single * (1 + FREQUENCY_TOLERANCE)
    return pair(entry.get("frequency_range_hz"))


def _who(group: Table) -> str:
    ages = _ages(group)
    years = f"{ages[0]:g}–{ages[1]:g} years" if ages else "all ages"
    return f"{years}, {group.get('sex', 'both sexes')}"
