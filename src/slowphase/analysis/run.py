"""From a session to its analysis: each trial, pairs, groups, references, statements."""

from collections.abc import Callable

from slowphase.analysis.result import Analysis, Provenance
from slowphase.analysis.settings import Settings
from slowphase.edits.apply import apply
from slowphase.edits.edit import Edits
from slowphase.foundation.version import __version__
from slowphase.measures.kinds import measure_groups, measure_pairs, measure_trials
from slowphase.measures.repeats import with_repeats
from slowphase.measures.result import TrialResult
from slowphase.reading.agreement import Battery, compare
from slowphase.reading.coherence import incoherences, with_cautions
from slowphase.reading.conditions import told_conditions
from slowphase.reading.criteria import read_criteria
from slowphase.reading.findings import Findings
from slowphase.reading.function import function_points
from slowphase.reading.patterns import read_patterns
from slowphase.reading.read import read
from slowphase.reading.summary import summarise
from slowphase.recording.session import Session
from slowphase.reference.library import References, shipped
from slowphase.reference.select import placed


def analyze(
    session: Session,
    *,
    edits: Edits | None = None,
    settings: Settings | None = None,
    references: References | None = None,
    progress: Callable[[str], None] | None = None,
) -> Analysis:
    """Measure, place and read one session.

    The same session, edits, settings, references and version give the same analysis. ``edits`` are
    what a person changed (none when None). ``references`` are the sets to hold measures against
    (`read_references`; the shipped ones when None). ``progress`` is called with the id of each
    trial before it is measured. Raises nothing for poor data: a measure that cannot be had is
    present, without a value and with the reason.
    """
    settings, edits = settings or Settings(), edits or Edits()
    session, results = _measured(apply(session, edits), settings, progress)
    return read_results(session, results, edits, settings, references or shipped())


def read_results(
    session: Session,
    results: tuple[TrialResult, ...],
    edits: Edits,
    settings: Settings,
    references: References,
) -> Analysis:
    """The analysis of a session whose trials are measured: repeats, pairs, places, reading."""
    combined = with_repeats(session.trials, results)
    found = incoherences(combined, settings.measures)
    trials = with_cautions(combined, found)
    pairs = measure_pairs(trials, settings.measures)
    groups = measure_groups(trials, settings.measures)
    places = placed(
        trials, pairs, session.patient, session.conditions, groups=groups, references=references
    )
    function = function_points(trials, groups)
    told = told_conditions(session.notes, session.conditions)
    findings = Findings(trials, pairs, places.placements, session.patient, told, groups, found)
    statements = read(findings)
    patterns, criteria = read_patterns(findings), read_criteria(findings)
    agreements = compare(Battery(findings, function, settings.measures, settings.session))
    apart = [found.title for found in agreements if found.verdict == "disagree"]
    day = session.date
    return Analysis(
        patient=session.patient,
        date=session.date,
        trials=trials,
        pairs=pairs,
        groups=groups,
        statements=statements,
        patterns=patterns,
        criteria=criteria,
        summary=summarise(findings, statements, patterns, criteria, day, disagreeing=apart),
        problems=session.problems,
        provenance=Provenance(
            version=__version__,
            settings_digest=settings.digest(),
            input_digest=session.input_digest,
            edits_digest=edits.digest(),
            reference_digest=references.digest,
        ),
        placements=places.placements,
        unplaced=places.unplaced,
        notes=session.notes,
        conditions=session.conditions,
        incoherences=found,
        function=function,
        agreements=agreements,
        edits=edits,
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
        session = in_degrees(session, settings)
        return session, measure_trials(
            session.trials, settings.eye, settings.measures, progress=progress
        )


def in_degrees(session: Session, settings: Settings) -> Session:
    """Calibrated where anything was recorded in pixels or volts, which is rare."""
    if not session.uncalibrated:
        return session
    from slowphase.analysis.calibrate import calibrated

    return calibrated(session, settings)
