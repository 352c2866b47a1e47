"""The analysis of one session."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import TYPE_CHECKING, Any

from slowphase.edits.edit import Edits
from slowphase.foundation.problem import Problem
from slowphase.measures.measure import Measure
from slowphase.measures.result import GroupResult, PairResult, TrialResult
from slowphase.reading.agreement import Comparison
from slowphase.reading.coherence import Incoherence
from slowphase.reading.conditions import told_conditions
from slowphase.reading.criteria import Criterion
from slowphase.reading.function import FunctionPoint
from slowphase.reading.patterns import PatternReading
from slowphase.reading.statement import Statement
from slowphase.reading.summary import Summary
from slowphase.recording.session import Patient
from slowphase.reference.placement import Placement, RunnerUp

if TYPE_CHECKING:
    import polars as pl

Part = TrialResult | PairResult | GroupResult
NO_EDITS = Edits()
NO_PATTERNS, NO_SUMMARY = PatternReading(told=False, ranking=()), Summary("", "")


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
    an entry has no reference for its stimulus; ``unplaced`` says of some of these which sets hold
    the same measure, and what they lack. ``incoherences`` holds in what the
    trials of the session do not agree, ``groups`` what all trials of one test say together,
    ``function`` what is left at which frequency, ``agreements`` whether the tests agree.
    ``patterns`` are ranked, ``criteria`` are consensus criteria item by item, ``summary`` says it
    in few words. ``edits`` is the log of what a person changed.
    """

    patient: Patient
    date: date | None
    trials: tuple[TrialResult, ...]
    pairs: tuple[PairResult, ...]
    statements: tuple[Statement, ...]
    problems: tuple[Problem, ...]
    provenance: Provenance
    placements: Mapping[str, Placement] = field(default_factory=dict)
    unplaced: Mapping[str, tuple[RunnerUp, ...]] = field(default_factory=dict)
    notes: Mapping[str, str] = field(default_factory=dict)
    conditions: Mapping[str, str | float] = field(default_factory=dict)
    incoherences: tuple[Incoherence, ...] = ()
    groups: tuple[GroupResult, ...] = ()
    function: tuple[FunctionPoint, ...] = ()
    patterns: PatternReading = NO_PATTERNS
    criteria: tuple[Criterion, ...] = ()
    summary: Summary = NO_SUMMARY
    agreements: tuple[Comparison, ...] = ()
    edits: Edits = NO_EDITS

    @property
    def told(self) -> dict[str, str | float]:
        """The conditions with the medication, wherever in the session it was written."""
        return told_conditions(self.notes, self.conditions)

    def parts(self) -> tuple[Part, ...]:
        """Everything that has measures: every trial, pair and group, in order."""
        return (*self.trials, *self.pairs, *self.groups)

    def measures(self) -> tuple[Measure, ...]:
        """Every measure of every part, in order."""
        return tuple(measure for part in self.parts() for measure in part.measures)

    def to_document(self) -> dict[str, Any]:
        """The result document, plain data for JSON; see ``docs/document.md``."""
        from slowphase.analysis.document import to_document

        return to_document(self)

    def to_json(self) -> str:
        """The result document as text."""
        from slowphase.analysis.document import to_document, to_json

        return to_json(to_document(self))

    def events_document(self) -> dict[str, Any]:
        """Quick phases and unused intervals of every recorded trial, plain data for JSON."""
        from slowphase.analysis.document import events_document

        return events_document(self)

    def to_polars(self) -> "pl.DataFrame":
        """One row for each measure."""
        from slowphase.analysis.frame import to_polars

        return to_polars(self)
