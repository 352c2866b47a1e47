"""A session: one patient, one day, its trials and what is wrong with them."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date

from slowphase.foundation.problem import Problem
from slowphase.recording.trial import Trial


@dataclass(frozen=True, slots=True)
class Patient:
    """Who was tested: a pseudonym, and what the reference sets need."""

    code: str
    age_years: float | None = None
    sex: str = "unknown"


@dataclass(frozen=True, slots=True)
class Session:
    """Everything read from one session folder.

    ``notes`` holds the optional texts of ``[session]`` (examiner, indication, …), ``conditions``
    those of ``[conditions]``. ``date`` is None where the file gave no possible one (a problem says
    so). ``input_digest`` is the SHA-256 of every byte that was read.
    """

    patient: Patient
    date: date | None
    trials: tuple[Trial, ...]
    problems: tuple[Problem, ...] = ()
    notes: Mapping[str, str] = field(default_factory=dict)
    conditions: Mapping[str, str | float] = field(default_factory=dict)
    input_digest: str = ""

    @property
    def uncalibrated(self) -> bool:
        """Whether any eye is still in pixels or volts."""
        recordings = (trial.recording for trial in self.trials)
        return any(recording is not None and bool(recording.raw_units) for recording in recordings)
