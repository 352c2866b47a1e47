"""The words that people read for the names in a result."""

import tomllib
from functools import cache
from importlib.resources import files
from typing import Any

from slowphase.measures.measure import Measure
from slowphase.measures.result import PairResult, TrialResult
from slowphase.reading.words import chance, interval, more_digits, number, quantity
from slowphase.reference.placement import Placement
from slowphase.reference.sets import marks

NO_REFERENCE = "no reference for this stimulus"
LETTERS = {"right": "R", "left": "L"}


@cache
def _table() -> dict[str, dict[str, Any]]:
    return tomllib.loads((files(__package__) / "labels.toml").read_text(encoding="utf-8"))


def word(group: str, code: str) -> str:
    """The words for a kind, verdict, plane or unused reason; the code itself if there are none."""
    return str(_table()[group].get(code, code.replace("_", " ")))


def measure_label(measure: Measure) -> str:
    """A measure's name with plane or response and, in letters, the side that it excites."""
    entry = _table()["measure"].get(measure.name, {})
    parts = [entry.get("label", measure.name.replace("_", " "))]
    if measure.of:
        parts.append(word("of", measure.of))
    if measure.exciting and "exciting" not in parts[0]:
        parts.append(f"exciting {LETTERS[measure.exciting]}")
    return ", ".join(parts)


def about_recording(measure: Measure) -> bool:
    """Whether a measure describes the recording, so that no reference is expected."""
    return _table()["measure"].get(measure.name, {}).get("about") == "recording"


def stimulus_text(trial: TrialResult) -> str:
    """The stimulus in one line: frequency, peak or velocity, direction, vision."""
    keys = (
        ("frequency_hz", "Hz"),
        ("peak_velocity_deg_s", "deg/s peak"),
        ("velocity_deg_s", "deg/s"),
        ("direction", ""),
    )
    parts = [_key_text(trial.stimulus[key], unit) for key, unit in keys if key in trial.stimulus]
    return ", ".join([*parts, *([trial.vision] if trial.vision else [])])


def _key_text(value: object, unit: str) -> str:
    shown = f"{value:g}" if isinstance(value, int | float) else str(value)
    return f"{shown} {unit}".strip()


def pair_title(pair: PairResult) -> str:
    """What a pair compares, by the ids of its trials."""
    return f"{word('kind', pair.kind)}: {pair.dark} against {pair.fixation}"


def value_text(measure: Measure) -> str:
    """Value and unit; a dash where there is no value."""
    if measure.value is None:
        return "–"
    decimals = _table()["measure"].get(measure.name, {}).get("decimals")
    if decimals is not None:
        return f"{measure.value:.{decimals}f}"
    more = more_digits(measure.low, measure.high, measure.unit)
    return quantity(measure.value, measure.unit, more=more)


def interval_text(measure: Measure) -> str:
    """The 95 % interval without unit; a dash where there is none."""
    return interval(measure.low, measure.high, measure.unit) or "–"


def reference_text(measure: Measure, placement: Placement | None) -> str:
    """Where the measure stands, in a few words."""
    if placement is None:
        return "" if about_recording(measure) else NO_REFERENCE
    stands = [ordinal_percentile(placement.percentile), _limits_text(placement, measure.unit)]
    if placement.beyond_limit is not None:
        stands.append(f"beyond: {chance(placement.beyond_limit)}")
    return "; ".join(part for part in stands if part)


def ordinal_percentile(percentile: float | None) -> str:
    """A percentile in words; the ends are not resolved further than 1 and 99."""
    if percentile is None:
        return ""
    if percentile < 1:
        return "below the 1st percentile"
    if percentile > 99:
        return "above the 99th percentile"
    return f"percentile {percentile:.0f}"


def _limits_text(placement: Placement, unit: str) -> str:
    kind = "limit" if placement.percentile is None else "central 95 %"
    if placement.lower is not None and placement.upper is not None:
        return f"{kind} {interval(placement.lower, placement.upper, unit)}"
    if placement.lower is not None:
        return f"{kind} {number(placement.lower, unit)} or more"
    if placement.upper is not None:
        return f"{kind} {number(placement.upper, unit)} or less"
    return ""


def placement_source(placement: Placement) -> str:
    """Who says so, and how that is known."""
    known = marks()[placement.mark].text
    return known if known == placement.source else f"{placement.source} ({known})"
