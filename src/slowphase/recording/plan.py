"""What session.toml asks for, before any trace file is opened."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from slowphase.foundation.problem import Problem
from slowphase.recording.columns import Column
from slowphase.recording.session import Patient
from slowphase.recording.toml_lines import TomlLines
from slowphase.recording.trial import Trial


@dataclass(frozen=True, slots=True)
class TrialPlan:
    """One trial without its samples. ``readable`` is False where its keys forbid an analysis.

    ``lost_roles`` are those whose entry in the column map is wrong and has its problem already.
    """

    trial: Trial
    columns: Mapping[str, Column]
    sampling_hz: float | None
    path: Path | None
    readable: bool
    index: int
    lost_roles: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class SessionPlan:
    """Everything that session.toml says, checked."""

    patient: Patient
    date: date | None
    trials: tuple[TrialPlan, ...]
    notes: Mapping[str, str]
    conditions: Mapping[str, str | float]
    problems: tuple[Problem, ...]
    lines: TomlLines
