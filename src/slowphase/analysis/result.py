"""The analysis of one session."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date

from slowphase.foundation.problem import Problem
from slowphase.measures.measure import Measure
from slowphase.measures.result import PairResult, TrialResult
from slowphase.reading.statement import Statement
from slowphase.recording.session import Patient
from slowphase.reference.placement import Placement


@dataclass(frozen=True, slots=True)
class Provenance:
    """What made these numbers: version and SHA-256 digests."""

    version: str
    settings_digest: str
    input_digest: str
    edits_digest: str
    reference_digest: str


@dataclass(frozen=True, slots=True)
class Analysis:
    """Everything found in one session, in the session's order.

    ``placements`` maps a measure's id to where it stands in a reference set; a measure without
    an entry has no reference for its stimulus.
    """

    patient: Patient
    date: date
    trials: tuple[TrialResult, ...]
    pairs: tuple[PairResult, ...]
    statements: tuple[Statement, ...]
    problems: tuple[Problem, ...]
    provenance: Provenance
    placements: Mapping[str, Placement] = field(default_factory=dict)
    notes: Mapping[str, str] = field(default_factory=dict)
    conditions: Mapping[str, str | float] = field(default_factory=dict)

    def measures(self) -> tuple[Measure, ...]:
        """Every measure of every trial and pair, in order."""
        parts: tuple[TrialResult | PairResult, ...] = (*self.trials, *self.pairs)
        return tuple(measure for part in parts for measure in part.measures)
