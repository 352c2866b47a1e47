"""What is said of reference sets: their values, and why others were not chosen."""

from collections.abc import Iterable, Mapping

from slowphase.reference.entry import ReferenceEntry
from slowphase.reference.placement import Placement, RunnerUp
from slowphase.reference.standing import limits, percentiles_at


def others_text(placement: Placement) -> list[str]:
    """The sets of the same measure that were not chosen, each with what it lacks."""
    return [runner_up_text(other) for other in placement.runners_up]


def unplaced_text(unplaced: Mapping[str, Iterable[RunnerUp]]) -> list[tuple[str, list[str]]]:
    """Measures without a reference, together where the same sets lack the same."""
    found: dict[tuple[str, ...], list[str]] = {}
    for id_, others in unplaced.items():
        found.setdefault(tuple(runner_up_text(other) for other in others), []).append(id_)
    return [(", ".join(ids), list(told)) for told, ids in found.items()]


def runner_up_text(other: RunnerUp) -> str:
    """``yu-2022: age outside 20–59 years``."""
    return f"{other.set}: {'; '.join(other.lacks)}"


def entry_values(entry: ReferenceEntry) -> str:
    """Mean and SD, or the limits with their percentiles, with the unit."""
    if entry.mean is not None:
        return f"{entry.mean:g} ± {entry.sd:g} {entry.unit}"
    age = entry.ages[0] if entry.curve and entry.ages else None
    ends = limits(entry, age)
    told = " to ".join("…" if end is None else f"{end:g}" for end in (ends.lower, ends.upper))
    if percentiles_at(entry, age) and ends.between is not None:
        at = f" at {age:g} y, by age" if age is not None else ""
        return f"{told} {entry.unit} ({ends.between[0]:g}–{ends.between[1]:g} %{at})"
    return f"{told} {entry.unit}"


def entry_stimulus(entry: ReferenceEntry) -> str:
    """For which recording, stimulus, ages and sex an entry holds; led by a comma."""
    parts = []
    if entry.recording:
        parts.append(entry.recording)
    if entry.frequencies_hz:
        parts.append(f"{entry.frequencies_hz[0]:.3g}–{entry.frequencies_hz[1]:.3g} Hz")
    if entry.peak_velocity_deg_s:
        parts.append(f"{entry.peak_velocity_deg_s:g} deg/s")
    if entry.ages:
        parts.append(f"{entry.ages[0]:g}–{entry.ages[1]:g} y")
    if entry.sex:
        parts.append(entry.sex)
    return "".join(f", {part}" for part in parts)
