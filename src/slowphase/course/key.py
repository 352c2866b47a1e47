"""What a measure is, apart from the session and the trial's name: the same thing measured twice.

Two measures are alike when name, part, side, definition, unit, kind of test and vision are the
same, and the stimulus (frequency, peak, …) is the same within ``TOLERANCE``. Trial ids take no
part: a clinic may rename its trials.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from slowphase.measures.result import PairResult, TrialResult

if TYPE_CHECKING:
    from slowphase.analysis.result import Analysis, Part
    from slowphase.measures.measure import Measure

Level = Literal["trial", "pair", "group"]
Stimulus = tuple[tuple[str, float | str], ...]

TOLERANCE = 0.05  # relative, of a number of the stimulus; as a suppression's pair allows
IDENTIFYING = (  # the keys of a stimulus that make it another stimulus
    "frequency_hz",
    "peak_velocity_deg_s",
    "velocity_deg_s",
    "direction",
    "ear",
    "temperature_c",
    "medium",
    "eccentricity_deg",
    "position",
    "plane",
    "test",
    "response",
    "scale",
)


@dataclass(frozen=True, slots=True)
class Key:
    """One thing that is measured. ``level`` is ``trial``, ``pair`` or ``group``.

    ``stimulus`` holds pairs of a key and its number or word, in the order of ``IDENTIFYING``.
    """

    level: Level
    kind: str
    name: str
    unit: str
    of: str | None = None
    exciting: str | None = None
    definition: str | None = None
    vision: str | None = None
    stimulus: Stimulus = ()

    def number(self, name: str) -> float | None:
        """A number of the stimulus, None where it has none of that name."""
        found = dict(self.stimulus).get(name)
        return None if found is None or isinstance(found, str) else found


def keyed(analysis: Analysis) -> Iterator[tuple[Key, str, Measure]]:
    """Every measure of a session with its key and the id of its trial, pair or group.

    A trial whose samples went into another one is left out: its measures are in that one.
    """
    merged = {part for t in analysis.trials for part in t.parts if part != t.id}
    for part in analysis.parts():
        if isinstance(part, TrialResult) and part.id in merged:
            continue
        for measure in part.measures:
            yield key_of(part, measure), part_id(part), measure


def key_of(part: Part, measure: Measure) -> Key:
    """The key of one measure of a trial, pair or group."""
    level: Level = (
        "trial"
        if isinstance(part, TrialResult)
        else "pair"
        if isinstance(part, PairResult)
        else "group"
    )
    return Key(
        level=level,
        kind=part.kind,
        name=measure.name,
        unit=measure.unit,
        of=measure.of,
        exciting=measure.exciting,
        definition=measure.definition,
        vision=_vision(part),
        stimulus=identifying(part.stimulus if isinstance(part, TrialResult) else part.conditions),
    )


def _vision(part: Part) -> str | None:
    """The vision of a trial; a sinusoid or a step without one was in the dark."""
    if not isinstance(part, TrialResult):
        return None
    return part.vision or ("dark" if part.kind in ("sinusoid", "step") else None)


def part_id(part: Part) -> str:
    """The id of a trial or group; the two ids of a pair, joined."""
    return f"{part.dark}~{part.fixation}" if isinstance(part, PairResult) else part.id


def identifying(stimulus: Mapping[str, object]) -> Stimulus:
    """What of a stimulus makes it another one."""
    found: list[tuple[str, float | str]] = []
    for name in IDENTIFYING:
        value = stimulus.get(name)
        if isinstance(value, str):
            found.append((name, value))
        elif isinstance(value, int | float) and not isinstance(value, bool):
            found.append((name, float(value)))
    return tuple(found)


def alike(one: Key, other: Key) -> bool:
    """Whether two keys mean the same thing, numbers of the stimulus within the tolerance."""
    return _named(one) == _named(other) and stimuli_alike(dict(one.stimulus), dict(other.stimulus))


def same_but_stimulus(one: Key, other: Key) -> bool:
    """Whether only the stimulus tells two keys apart."""
    return _named(one) == _named(other)


def _named(key: Key) -> tuple[str | None, ...]:
    return (
        key.level,
        key.kind,
        key.name,
        key.unit,
        key.of,
        key.exciting,
        key.definition,
        key.vision,
    )


def stimuli_alike(one: Mapping[str, float | str], other: Mapping[str, float | str]) -> bool:
    """Whether two stimuli are the same within the tolerance."""
    return one.keys() == other.keys() and all(_close(one[name], other[name]) for name in one)


def _close(one: float | str, other: float | str) -> bool:
    if isinstance(one, str) or isinstance(other, str):
        return one == other
    return abs(one - other) <= TOLERANCE * max(abs(one), abs(other))


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """Which keys an entry of a table means; a vision or part that it does not name is any."""

    level: str
    kind: str
    name: str
    vision: str | None = None
    of: str | None = None

    def fits(self, key: Key) -> bool:
        """Whether a key is meant."""
        return (
            (self.level, self.kind, self.name) == (key.level, key.kind, key.name)
            and self.vision in (None, key.vision)
            and self.of in (None, key.of)
        )
