"""From a session to its analysis: each trial, pairs, groups, references, statements."""

import hashlib
from collections.abc import Callable

from slowphase.analysis.result import Analysis, Provenance
from slowphase.analysis.settings import Settings
from slowphase.measures.kinds import measure_groups, measure_pairs, measure_trials
from slowphase.measures.repeats import with_repeats
from slowphase.measures.result import TrialResult
from slowphase.reading.agreement import Battery, compare
from slowphase.reading.coherence import incoherences, with_cautions
from slowphase.reading.findings import Findings
from slowphase.reading.function import function_points
from slowphase.reading.read import read
from slowphase.recording.session import Session
from slowphase.reference.select import place_all
from slowphase.reference.sets import reference_digest

NO_EDITS = hashlib.sha256(b"").hexdigest()


def analyze(
    session: Session,
    *,
    settings: Settings | None = None,
    progress: Callable[[str], None] | None = None,
) -> Analysis:
    """Measure, place and read one session.

    The same session, settings and version give the same analysis. ``progress`` is called with
    the id of each trial before it is measured. Raises nothing for poor data: a measure that
    cannot be had is present, without a value and with the reason.
    """
    from slowphase import __version__

    settings = settings or Settings()
    session, results = _measured(session, settings, progress)
    combined = with_repeats(session.trials, results)
    found = incoherences(combined, settings.measures)
    trials = with_cautions(combined, found)
    pairs = measure_pairs(trials, settings.measures)
    groups = measure_groups(trials, settings.measures)
    placements = place_all(trials, pairs, session.patient, session.conditions, groups=groups)
    function = function_points(trials, groups)
    findings = Findings(trials, pairs, placements, session.patient, session.conditions, groups)
    return Analysis(
        patient=session.patient,
        date=session.date,
        trials=trials,
        pairs=pairs,
        groups=groups,
        statements=read(
            trials, pairs, placements, session.patient, session.conditions, groups=groups
        ),
        problems=session.problems,
        provenance=Provenance(
            version=__version__,
            settings_digest=settings.digest(),
            input_digest=session.input_digest,
            edits_digest=NO_EDITS,
            reference_digest=reference_digest(),
        ),
        placements=placements,
        notes=session.notes,
        conditions=session.conditions,
        incoherences=found,
        function=function,
        agreements=compare(Battery(findings, found, function, settings.measures, settings.session)),
    )


def _measured(
    session: Session, settings: Settings, progress: Callable[[str], None] | None
) -> tuple[Session, tuple[TrialResult, ...]]:
    """The session in degrees and every trial measured, on one thread.

    The matrices are small: threads of the linear algebra library would only wait for one another,
    and their number would decide the last digits of the result.
    """
    from threadpoolctl import threadpool_limits

    with threadpool_limits(limits=1):
        session = _in_degrees(session, settings)
        return session, measure_trials(
            session.trials, settings.eye, settings.measures, progress=progress
        )


def _in_degrees(session: Session, settings: Settings) -> Session:
    """Calibrated where anything was recorded in pixels or volts, which is rare."""
    if not session.uncalibrated:
        return session
    from slowphase.analysis.calibrate import calibrated

    return calibrated(session, settings)
