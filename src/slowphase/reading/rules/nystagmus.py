"""What the trials in the dark say of a nystagmus in one plane; both planes are judged from it."""

from collections.abc import Iterable
from dataclasses import dataclass

from slowphase.measures.measure import Measure
from slowphase.measures.result import TrialResult
from slowphase.reading.findings import Findings, in_plane
from slowphase.reading.limits import limits
from slowphase.reading.pooling import Pooled, pool, usable
from slowphase.reading.rule import evidence, plain, strength_of, weaker
from slowphase.reading.statement import EvidenceItem
from slowphase.reading.words import number, quantity, reason_clause, with_interval
from slowphase.reference.normal import probability_outside

WAYS = {"horizontal": ("right", "left"), "vertical": ("up", "down")}
BEATING = {"right": "right-beating", "left": "left-beating", "up": "up-beating",
           "down": "down-beating"}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Nystagmus:
    """Velocity in one plane, pooled over the trials in the dark, and what goes with it."""

    plane: str
    velocity: Pooled
    beats: Measure | None
    share: Measure | None
    fixation: Measure | None

    def faster_than(self, limit: float) -> float:
        """Chance that the slow phase is faster than a limit, either way."""
        return chance_faster(self.velocity, limit)

    @property
    def beating(self) -> bool | None:
        """Whether quick phases beat; None when they were not counted."""
        if self.beats is None or self.beats.value is None:
            return None
        return self.beats.value >= limits()["spontaneous_beats"].value

    @property
    def changes(self) -> bool:
        """Whether it beats now one way, now the other."""
        return any("direction_changes" in m.why for m in self.velocity.members)

    @property
    def unsteady(self) -> bool:
        """Whether it beats the way that names it for less than most of the time."""
        if self.share is None or self.share.value is None:
            return False
        return self.share.value < limits()["beating_share"].value

    def strength(self, probability: float, *, sourced: bool = False) -> str:
        """How strongly it can be stated: at most moderate unless the limit has a source."""
        own = () if sourced else (limits()["spontaneous_present"],)
        strength = strength_of(probability, self.velocity.members, own)
        if not self.unsteady:
            return strength
        return "weak" if strength == "moderate" else weaker(strength, "moderate")

    def words(self) -> dict[str, str]:
        """The parts of a sentence that both planes use."""
        return {
            "direction": self.direction,
            "speed": self.speed,
            "beats": self.rate,
            "share": self.constancy,
            "fixation": fixation_text(self.fixation),
        }

    @property
    def direction(self) -> str:
        """Its name, by the quick phase."""
        ahead, back = WAYS[self.plane]
        return BEATING[back if self.velocity.value > 0 else ahead]

    @property
    def speed(self) -> str:
        """Speed of the slow phase with its interval and its way."""
        ahead, back = WAYS[self.plane]
        v = self.velocity
        way = ahead if v.value >= 0 else back
        to = f"to the {way}" if self.plane == "horizontal" else way
        if v.value < 0:
            return f"{with_interval(-v.value, -v.high, -v.low, 'deg/s')} {to}"
        return f"{with_interval(v.value, v.low, v.high, 'deg/s')} {to}"

    @property
    def rate(self) -> str:
        """Beats a minute, as the tail of a clause."""
        if self.beats is None or self.beats.value is None:
            return ""
        count = number(self.beats.value, "/min")
        return f", {count} beat{'' if count == '1' else 's'} a minute"

    @property
    def constancy(self) -> str:
        """Share of time beating that way, where it is not most of it."""
        if self.share is None or not (self.unsteady or self.changes):
            return ""
        return f", that way {plain(self.share)} of the time"

    def evidence(self, *held: str) -> tuple[EvidenceItem, ...]:
        """Its measures, velocity with the limits of these codes."""
        table = limits()
        items = [evidence(m, table[code]) for m in self.velocity.members for code in held]
        others = ((self.beats, "spontaneous_beats"), (self.share, "beating_share"),
                  (self.fixation, "fixation_effect"))  # fmt: skip
        return (*items, *(evidence(m, table[code]) for m, code in others if m is not None))


def dark_trials(findings: Findings) -> list[TrialResult]:
    """The spontaneous trials without vision."""
    return [t for t in findings.of_kind("spontaneous") if t.vision in (None, "dark")]


def in_the_dark(findings: Findings, plane: str) -> Nystagmus | None:
    """The nystagmus in one plane; None where its velocity was not measured."""
    trials = dark_trials(findings)
    velocity = pool(measured(trials, "velocity", plane))
    if velocity is None:
        return None
    counts = [m for m in measured(trials, "beats_per_min", plane) if m.value is not None]
    shares = [m for m in measured(trials, "beating_share", plane) if m.value is not None]
    return Nystagmus(
        plane=plane,
        velocity=velocity,
        beats=max(counts, key=lambda m: m.value or 0.0, default=None),
        share=min(shares, key=lambda m: m.value or 0.0, default=None),
        fixation=_fixation(findings, plane),
    )


def measured(trials: Iterable[TrialResult], name: str, plane: str) -> list[Measure]:
    """The measures of this name and plane of the trials."""
    return [m for trial in trials if (m := in_plane(trial, name, plane)) is not None]


def recorded(findings: Findings, plane: str) -> bool:
    """Whether any trial in the dark has the plane at all, be it unusable."""
    return bool(measured(dark_trials(findings), "velocity", plane))


def chance_faster(velocity: Pooled, limit: float) -> float:
    """Chance that a velocity is faster than a limit, either way."""
    return probability_outside(velocity.value, velocity.low, velocity.high, -limit, limit)


def _fixation(findings: Findings, plane: str) -> Measure | None:
    pairs = findings.pairs_of("fixation")
    effects = [m for pair in pairs if (m := in_plane(pair, "fixation_effect", plane))]
    return next((m for m in effects if usable(m)), None)


def fixation_text(effect: Measure | None) -> str:
    """What vision does to a nystagmus, as a sentence of its own."""
    if effect is None or effect.value is None:
        return " What fixation does to it was not measured."
    if effect.value <= 0:
        return f" Fixation does not reduce it (change {plain(effect)})."
    return f" Fixation reduces it by {plain(effect)}."


def why_missing(findings: Findings, plane: str) -> str:
    """Why there is no velocity in a plane, as the tail of a sentence."""
    trials = dark_trials(findings)
    if not trials:
        lit = findings.of_kind("spontaneous")
        return "it was recorded only with vision" if lit else "no trial of it was recorded"
    if all(t.outcome == "not done" for t in trials):
        return f"the trial was not done ({trials[0].reason or 'no reason given'})"
    codes = [code for m in measured(trials, "velocity", plane) for code in m.why]
    return reason_clause(tuple(dict.fromkeys(codes)))


def slowest() -> str:
    """The slowest drift that is called a nystagmus, in words."""
    limit = limits()["spontaneous_present"]
    return quantity(limit.value, limit.unit)
