"""The words that people read for the names in a result."""

import re
import tomllib
from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from typing import Any

from slowphase.edits.edit import Edit
from slowphase.measures.measure import Measure
from slowphase.measures.result import PairResult, Quality, TrialResult
from slowphase.reading.coherence import Incoherence
from slowphase.reading.words import (
    chance,
    interval,
    number,
    people_words,
    percentile_name,
    place_words,
    quantity,
    reason_text,
    with_interval,
)
from slowphase.recording.session import Patient
from slowphase.reference.placement import Placement
from slowphase.reference.sets import marks
from slowphase.reference.standing import CENTRAL

NO_REFERENCE = "no reference for this stimulus"
LETTERS = {"right": "R", "left": "L"}

TOUCHING = ("alerting", "medication", "eyes", "light", "head_pitch_deg")


@cache
def _table() -> dict[str, dict[str, Any]]:
    return tomllib.loads((files(__package__) / "labels.toml").read_text(encoding="utf-8"))


def word(group: str, code: str) -> str:
    """The words for a kind, verdict, plane or unused reason; the code itself if there are none."""
    return str(_table()[group].get(code, code.replace("_", " ")))


def measure_label(measure: Measure) -> str:
    """A measure's name with plane or response and, in letters, the side that it excites."""
    parts = [measure_name(measure.name, measure.definition)]
    if measure.of:
        parts.append(word("of", measure.of))
    if measure.exciting and "exciting" not in parts[0]:
        parts.append(f"exciting {LETTERS[measure.exciting]}")
    return ", ".join(parts)


def measure_name(name: str, definition: str | None = None) -> str:
    """The words for a name alone, or for what it means under a definition of its own."""
    entry = _named(name, definition)
    plain = re.sub(r"\bhz$", "Hz", name.replace("_", " "))
    return str(entry.get("label", plain))


def about_recording(measure: Measure) -> bool:
    """Whether a measure describes the recording, so that no reference is expected."""
    return _entry(measure).get("about") == "recording"


def _entry(measure: Measure) -> dict[str, Any]:
    """The words of a measure by name and definition, else by its name."""
    return _named(measure.name, measure.definition)


def _named(name: str, definition: str | None) -> dict[str, Any]:
    table = _table()["measure"]
    entry: dict[str, Any] = table.get(f"{name}/{definition}") or table.get(name, {})
    return entry


def stimulus_text(trial: TrialResult) -> str:
    """The stimulus in one line: frequency, peak or velocity, direction, vision."""
    keys = (
        ("frequency_hz", "Hz"),
        ("peak_velocity_deg_s", "deg/s peak"),
        ("velocity_deg_s", "deg/s"),
        ("direction", ""),
        ("eccentricity_deg", "deg"),
        ("position", ""),
        ("ear", "ear"),
        ("temperature_c", "°C"),
        ("medium", ""),
        ("test", ""),
        ("response", ""),
        ("scale", ""),
    )
    parts = [_key_text(trial.stimulus[key], unit) for key, unit in keys if key in trial.stimulus]
    return ", ".join([*parts, *([trial.vision] if trial.vision else [])])


def _key_text(value: object, unit: str) -> str:
    shown = f"{value:g}" if isinstance(value, int | float) else str(value).replace("_", " ")
    return f"{shown} {unit}".strip()


def quality_text(quality: Quality) -> str:
    """The numbers of a recording's quality that are known, in one line."""
    roving, change = quality.roving_deg_s or None, quality.strength_change or None
    parts = (
        (quality.noise_deg, "noise {:.2f} deg"),
        (quality.smallest_quick_phase_deg, "quick phases seen from {:.1f} deg"),
        (quality.quick_phases_per_s, "{:.1f} of them a second"),
        (quality.quick_phase_speed, "their speed {:.2f} of the main sequence"),
        (quality.eye_gain_difference, "gain of the eyes apart by {:+.1%}"),
        (roving, "roving at {:.1f} deg/s"),
        (change, "strength jumps by {:+.0%}"),
    )
    return ", ".join(words.format(value) for value, words in parts if value is not None)


def incoherence_text(found: Incoherence) -> str:
    """What the trials of a session do not agree in, with the number that says so."""
    value = with_interval(found.value, found.low, found.high, found.unit)
    limit = quantity(found.limit, found.unit)
    return (
        f"{reason_text(found.code)} Found {value}, held against {limit}; "
        f"concerns {', '.join(found.trials)}."
    )


def pair_title(pair: PairResult) -> str:
    """What a pair compares, by the ids of its trials."""
    return f"{word('kind', pair.kind)}: {pair.dark} against {pair.fixation}"


def value_text(measure: Measure) -> str:
    """Value and unit; a dash where there is no value."""
    if measure.value is None:
        return "–"
    if "decimals" in _entry(measure):
        return number_text(measure)
    return quantity(measure.value, measure.unit)


def number_text(measure: Measure) -> str:
    """Value without unit, with the decimals of its name or else of its unit."""
    decimals = _entry(measure).get("decimals")
    if decimals is None or measure.value is None:
        return number(measure.value, measure.unit)
    return f"{measure.value:.{decimals}f}"


def interval_text(measure: Measure) -> str:
    """The 95 % interval without unit; a dash where there is none that may be used."""
    if measure.grade == "unusable":
        return "–"
    return interval(measure.low, measure.high, measure.unit) or "–"


def reference_text(measure: Measure, placement: Placement | None) -> str:
    """Where the measure stands, in a few words."""
    if placement is None:
        return "" if about_recording(measure) or measure.value is None else NO_REFERENCE
    stands = [_place_and_people(placement), limits_text(placement, measure.unit)]
    return "; ".join(part for part in stands if part)


def limits_text(placement: Placement, unit: str, outside: str = "chance of being outside") -> str:
    """The limits of a reference, and the chance that the true value lies outside them."""
    stands = [_limits_text(placement, unit)]
    if placement.beyond_limit is not None:
        stands.append(f"{outside}: {chance(placement.beyond_limit)}")
    return "; ".join(part for part in stands if part)


def _place_and_people(placement: Placement) -> str:
    place, people = place_words(placement), people_words(placement)
    if place and placement.z is not None:
        place = f"{place}, z = {f'{placement.z:.1f}'.replace('-', '−')}"
    return f"{place} ({people})" if place and people else place


def _limits_text(placement: Placement, unit: str) -> str:
    kind = _limits_name(placement.between)
    lower, upper = placement.lower, placement.upper
    if lower is not None and upper is not None:
        joint = " to " if lower < 0 else "–"
        return f"{kind}{number(lower, unit)}{joint}{quantity(upper, unit)}"
    if lower is not None:
        return f"{kind}{quantity(lower, unit)} or more"
    return f"{kind}{quantity(upper, unit)} or less" if upper is not None else ""


def _limits_name(between: tuple[float, float] | None) -> str:
    if between is None:
        return ""
    if between == CENTRAL:
        return "central 95 % "
    return f"{percentile_name(between[0])}–{percentile_name(between[1])} percentile "


def patient_text(patient: Patient) -> str:
    """Code, age and sex in one line."""
    age = "age unknown" if patient.age_years is None else f"{patient.age_years:g} years"
    sex = "sex unknown" if patient.sex == "unknown" else patient.sex
    return f"{patient.code}, {age}, {sex}"


def condition_text(key: str, value: str | float) -> tuple[str, str]:
    """Name and value of a condition; a unit at the end of the key goes behind the value."""
    stem, _, unit = key.rpartition("_")
    unit = _table()["key_unit"].get(unit, "") if stem else ""
    name = (stem if unit else key).replace("_", " ").capitalize()
    shown = f"{value:g}" if isinstance(value, int | float) else str(value)
    return name, f"{shown} {unit}".strip()


def conditions_line(conditions: Mapping[str, str | float]) -> str:
    """The conditions that touch numbers, in one line below them; empty where none was written."""
    told = [condition_text(key, conditions[key]) for key in TOUCHING if key in conditions]
    return "; ".join(f"{name.lower()}: {shown}" for name, shown in told)


def placement_source(placement: Placement) -> str:
    """Who says so, and how that is known."""
    known = marks()[placement.mark].text
    return known if known == placement.source else f"{placement.source} ({known})"


def short_source(placement: Placement) -> str:
    """A set by a title that can be read: its authors and year, or what it is."""
    return str(_table()["set"].get(placement.set, placement.source))


def edit_text(edit: Edit) -> str:
    """One edit in a line: what was changed, where, by whom, when and why."""
    values = ", ".join(f"{key} {value}" for key, value in edit.values.items())
    where = edit.trial or "all trials"
    told = f" ({values})" if values else ""
    return f"{where}: {word('edit', edit.kind)}{told}; {edit.by}, {edit.at}: {edit.reason}"
