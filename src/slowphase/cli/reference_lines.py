"""What the commands of ``slowphase reference`` print, line by line."""

from __future__ import annotations

from typing import TYPE_CHECKING

from slowphase.reading.words import number
from slowphase.reference.intervals.set_text import interval_words, key_text, partition_text
from slowphase.reference.sets import marks
from slowphase.report.reference_words import entry_stimulus, entry_values

if TYPE_CHECKING:
    from collections.abc import Iterator

    from slowphase.reference.intervals.build import BuiltSet
    from slowphase.reference.intervals.interval import GroupLimits
    from slowphase.reference.intervals.verify import Verification
    from slowphase.reference.library import References


def value_lines(references: References) -> Iterator[str]:
    """Every reference value in words, and the clinic's order where it has one."""
    if references.prefer:
        yield f"preferred: {', '.join(references.prefer)}"
    for entry in references.entries:
        told = f"{entry_values(entry)}{entry_stimulus(entry)}"
        yield f"{entry.set}: {entry.kind} {entry.measure} {told}"
        yield f"  {entry.source} ({marks()[entry.mark].text})"
        if entry.note:
            yield f"  {entry.note}"
        if entry.not_placed:
            yield f"  not compared: {entry.not_placed}"


def built_lines(built: BuiltSet) -> Iterator[str]:
    """The limits of every measure, its tests and its suspects; what was kept apart."""
    words = interval_words()
    for measure in built.measures:
        yield key_text(measure.key)
        for group in measure.groups:
            yield f"  {_group(group, measure.key.unit)}"
        yield from (f"  {partition_text(test)}" for test in measure.partitions)
        for group in measure.groups:
            for value in dict.fromkeys((*group.flagged, *group.left_out)):
                kept = "left_out" if value in group.left_out else "kept"
                shown = number(value.value, measure.key.unit)
                yield f"  beyond the fences: {value.person} {shown}, {words['outlier'][kept]}"
    for apart in (*built.collected.apart, *(a for m in built.measures for a in m.apart)):
        yield f"not counted: {apart.person}, {apart.what}: {words['apart'][apart.why]}"


def verified_lines(found: tuple[Verification, ...]) -> Iterator[str]:
    """The verdict on every entry, with the numbers that it rests on and who lay outside."""
    words = interval_words()
    for one in found:
        yield f"{one.entry.set}: {one.entry.kind} {one.entry.measure}{entry_stimulus(one.entry)}"
        told = words["verdict"][one.verdict]
        counts = ", then ".join(f"{count} of 20 outside" for count in one.outside)
        few = f" ({one.fitting} people)" if one.verdict == "too_few" else ""
        yield f"  {counts}{': ' if counts else ''}{told}{few}"
        for person in (p for people in one.rounds for p in people if p.outside):
            value, low, high = (
                number(level, one.entry.unit)
                for level in (person.value, person.lower, person.upper)
            )
            yield f"  outside: {person.person} {value}, limits {low} to {high}"
    yield words["verdict_rule"]["text"]


def _group(group: GroupLimits, unit: str) -> str:
    ages = f" {group.ages[0]:g}–{group.ages[1]:g} years" if group.ages else ""
    who = f"{group.sex or 'all'}{ages}, n = {len(group.values)}"
    if group.percentiles:
        low, high = group.percentiles[0][1], group.percentiles[-1][1]
        spread = group.limit_intervals
        told = f"{_with(low, spread['lower'], unit)} – {_with(high, spread['upper'], unit)} {unit}"
    elif group.curve:
        first, last = group.curve[0], group.curve[-1]
        told = "; ".join(
            f"at {p.age_years:g} years {number(p.percentiles[0][1], unit)} to "
            f"{number(p.percentiles[-1][1], unit)} {unit}"
            for p in (first, last)
        )
    else:
        told = ", ".join(number(value.value, unit) for value in group.values)
    return f"{who}: {told} ({interval_words()['method'][group.method]})"


def _with(limit: float, ends: tuple[float, float], unit: str) -> str:
    return f"{number(limit, unit)} [{number(ends[0], unit)} to {number(ends[1], unit)}]"
