"""One measure of one group of healthy people, as a reference set holds it."""

from collections.abc import Mapping
from dataclasses import dataclass, field

Percentiles = tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class AgePoint:
    """The percentiles at one age: pairs of percentile and value, rising."""

    age_years: float
    percentiles: Percentiles


@dataclass(frozen=True, slots=True)
class ReferenceEntry:
    """One measure of one group of people for one stimulus.

    ``frequencies_hz`` is the inclusive range that the entry holds for, None where the measure has
    no frequency; ``ages`` the inclusive range in completed years, None where it is not known.
    ``recording`` is ``video`` or ``electrodes`` and ``sex`` is ``female`` or ``male`` where the
    entry holds for one of them only; ``alerting`` is what kept the people awake, in words.
    The values are one of: ``mean`` and ``sd``; ``percentiles``, pairs of percentile and value;
    ``curve``, percentiles by age, between which values are interpolated; or ``lower`` and
    ``upper`` (one may be None). ``mark`` is a key of ``marks.toml``.
    """

    set: str
    source: str
    bib: str
    mark: str
    population: str
    measure: str
    kind: str
    unit: str
    vision: str | None = None
    of: str | None = None
    definition: str | None = None
    frequencies_hz: tuple[float, float] | None = None
    peak_velocity_deg_s: float | None = None
    recording: str | None = None
    ages: tuple[float, float] | None = None
    n: int | None = None
    mean: float | None = None
    sd: float | None = None
    lower: float | None = None
    upper: float | None = None
    note: str = ""
    not_placed: str = ""
    sex: str | None = None
    alerting: str | None = None
    percentiles: Percentiles = ()
    curve: tuple[AgePoint, ...] = ()
    limit_intervals: Mapping[str, tuple[float, float]] = field(default_factory=dict)

    @property
    def unstated(self) -> tuple[str, ...]:
        """What the source does not tell: the stimulus, the ages; habits have neither."""
        if self.mark == "practice":
            return ()
        stimulus = self.kind == "sinusoid" and self.peak_velocity_deg_s is None
        return (
            *(("stimulus not stated",) if stimulus else ()),
            *(("ages not stated",) if self.ages is None else ()),
        )
