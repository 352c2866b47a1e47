"""What the rules look at: a session's results, and the questions they put to them."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from slowphase.measures.measure import Measure, Side
from slowphase.measures.result import GroupResult, PairResult, TrialResult
from slowphase.recording.session import Patient
from slowphase.reference.placement import Placement

if TYPE_CHECKING:
    from slowphase.reading.coherence import Incoherence


@dataclass(frozen=True, slots=True)
class Findings:
    """The results of one session, before anything is said about them."""

    trials: tuple[TrialResult, ...]
    pairs: tuple[PairResult, ...] = ()
    placements: Mapping[str, Placement] = field(default_factory=dict)
    patient: Patient = field(default_factory=lambda: Patient(code=""))
    conditions: Mapping[str, str | float] = field(default_factory=dict)
    groups: tuple[GroupResult, ...] = ()
    incoherences: "tuple[Incoherence, ...]" = ()

    def of_kind(self, kind: str) -> tuple[TrialResult, ...]:
        """The trials of one kind, in the session's order."""
        return tuple(trial for trial in self.trials if trial.kind == kind)

    def pairs_of(self, kind: str) -> tuple[PairResult, ...]:
        """The pairs of one kind."""
        return tuple(pair for pair in self.pairs if pair.kind == kind)

    def groups_of(self, kind: str) -> tuple[GroupResult, ...]:
        """The groups of one kind of test."""
        return tuple(group for group in self.groups if group.kind == kind)

    def trial(self, id_: str) -> TrialResult | None:
        """The trial with this id, or the one that its samples went into."""
        own = (trial for trial in self.trials if trial.id == id_)
        host = (trial for trial in self.trials if id_ in trial.parts)
        return next(own, None) or next(host, None)


def named(
    result: TrialResult | PairResult | GroupResult | None, name: str, *, of: str | None = None
) -> Measure | None:
    """A result's measure of this name (and plane or response); None when it has none."""
    measures = result.measures if result is not None else ()
    found = (m for m in measures if m.name == name and (of is None or m.of == of))
    return next(found, None)


def in_plane(result: TrialResult | PairResult | None, name: str, plane: str) -> Measure | None:
    """A result's measure of this name in one plane; what names no plane is horizontal."""
    measures = result.measures if result is not None else ()
    found = (m for m in measures if m.name == name and (m.of or "horizontal") == plane)
    return next(found, None)


def dark_sinusoids(findings: Findings) -> tuple[TrialResult, ...]:
    """The sinusoids in the dark, slowest first, without repeats that went into another trial."""
    merged = {part for trial in findings.trials for part in trial.parts if part != trial.id}
    dark = [t for t in findings.of_kind("sinusoid") if t.vision in (None, "dark")]
    return tuple(sorted((t for t in dark if t.id not in merged), key=frequency_hz))


def frequency_hz(trial: TrialResult) -> float:
    """The stimulus frequency; 0 where it is not known."""
    value = trial.stimulus.get("frequency_hz")
    return float(value) if isinstance(value, int | float) else 0.0


def step_measures(
    findings: Findings, name: str, definition: str | None, side: Side | None
) -> tuple[Measure, ...]:
    """The measures of this name of all steps, by the side that is excited."""
    measures = (m for trial in findings.of_kind("step") for m in trial.measures)
    return tuple(
        m
        for m in measures
        if m.name == name and side in (None, m.exciting) and definition in (None, m.definition)
    )
