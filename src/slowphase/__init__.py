"""Slowphase: from raw rotational-chair and eye traces to a reading that can be audited.

    import slowphase

    session = slowphase.read_session("path/to/session")
    analysis = slowphase.analyze(session)
    table = analysis.to_polars()

Names are imported when they are first used, so that ``import slowphase`` costs nothing.
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

from slowphase.foundation.version import __version__

if TYPE_CHECKING:
    from slowphase.analysis.explain import explain as explain
    from slowphase.analysis.result import Analysis as Analysis
    from slowphase.analysis.run import analyze as analyze
    from slowphase.analysis.settings import Settings as Settings
    from slowphase.course.timeline import Course as Course
    from slowphase.course.timeline import follow as follow
    from slowphase.fit.result import SessionReflex as SessionReflex
    from slowphase.foundation.errors import InputError as InputError
    from slowphase.foundation.errors import SlowphaseError as SlowphaseError
    from slowphase.foundation.errors import UsageError as UsageError
    from slowphase.foundation.problem import Problem as Problem
    from slowphase.foundation.reasons import reasons as reasons
    from slowphase.measures.measure import Measure as Measure
    from slowphase.measures.result import GroupResult as GroupResult
    from slowphase.measures.result import PairResult as PairResult
    from slowphase.measures.result import TrialResult as TrialResult
    from slowphase.reading.statement import Statement as Statement
    from slowphase.recording.eye_delay import with_eye_delay as with_eye_delay
    from slowphase.recording.propose import propose_columns as propose_columns
    from slowphase.recording.read import read_session as read_session
    from slowphase.recording.session import Patient as Patient
    from slowphase.recording.session import Session as Session
    from slowphase.recording.trial import Recording as Recording
    from slowphase.recording.trial import Trial as Trial
    from slowphase.recording.write import write_session as write_session
    from slowphase.reference.library import References as References
    from slowphase.reference.library import read_references as read_references
    from slowphase.reference.placement import Placement as Placement


_HOMES = {
    "Analysis": "analysis.result",
    "Course": "course.timeline",
    "InputError": "foundation.errors",
    "Measure": "measures.measure",
    "GroupResult": "measures.result",
    "PairResult": "measures.result",
    "Patient": "recording.session",
    "Placement": "reference.placement",
    "Problem": "foundation.problem",
    "Recording": "recording.trial",
    "References": "reference.library",
    "Session": "recording.session",
    "Settings": "analysis.settings",
    "SessionReflex": "fit.result",
    "SlowphaseError": "foundation.errors",
    "Statement": "reading.statement",
    "Trial": "recording.trial",
    "TrialResult": "measures.result",
    "UsageError": "foundation.errors",
    "analyze": "analysis.run",
    "explain": "analysis.explain",
    "follow": "course.timeline",
    "propose_columns": "recording.propose",
    "read_references": "reference.library",
    "read_session": "recording.read",
    "reasons": "foundation.reasons",
    "with_eye_delay": "recording.eye_delay",
    "write_session": "recording.write",
}
__all__ = [
    "Analysis",
    "Course",
    "GroupResult",
    "InputError",
    "Measure",
    "PairResult",
    "Patient",
    "Placement",
    "Problem",
    "Recording",
    "References",
    "Session",
    "SessionReflex",
    "Settings",
    "SlowphaseError",
    "Statement",
    "Trial",
    "TrialResult",
    "UsageError",
    "__version__",
    "analyze",
    "explain",
    "follow",
    "propose_columns",
    "read_references",
    "read_session",
    "reasons",
    "with_eye_delay",
    "write_session",
]


def __getattr__(name: str) -> Any:
    """The public names, from where they live."""
    if name not in _HOMES:
        raise AttributeError(f"module 'slowphase' has no attribute {name!r}")
    return getattr(import_module(f"slowphase.{_HOMES[name]}"), name)


def __dir__() -> list[str]:
    return list(__all__)
