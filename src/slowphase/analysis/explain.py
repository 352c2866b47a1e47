"""One explanation of a session: one reflex for all its trials, and what could make it."""

from collections.abc import Mapping
from dataclasses import replace

from slowphase.analysis.result import Analysis
from slowphase.analysis.settings import Settings
from slowphase.fit.result import SessionReflex
from slowphase.fit.session import session_reflex
from slowphase.foundation.reasons import worst_grade
from slowphase.measures.measure import Measure

EVERYTHING = ("",)
BEARS_ON: Mapping[str, tuple[str, ...]] = {  # finding of the session: how names of measures begin
    "calibration_implausible": ("gain", "nystagmus"),
    "clock_lag": ("latency",),
    "light_leak": EVERYTHING,
    "low_alertness": ("gain_right", "gain_left", "decay", "time_constant", "strength"),
}


def explain(analysis: Analysis, *, settings: Settings | None = None) -> SessionReflex | None:
    """Fit one reflex to all trials of an analysed session.

    ``settings`` are those of the analysis. None where no trial in the dark moves the chair: then
    there is no reflex to explain. The same analysis and settings give the same result.
    """
    from threadpoolctl import threadpool_limits

    settings = settings or Settings()
    with threadpool_limits(limits=1):
        reflex = session_reflex(analysis.trials, settings.session, settings.measures)
    return None if reflex is None else doubted(reflex, analysis)


def doubted(reflex: SessionReflex, analysis: Analysis) -> SessionReflex:
    """The reflex with the findings of the session as reasons, where they bear on it."""
    found = [finding.code for finding in analysis.incoherences if finding.code in BEARS_ON]
    why = tuple(dict.fromkeys((*reflex.why, *found)))
    measures = tuple(_cautioned(measure, found) for measure in reflex.measures)
    return replace(reflex, measures=measures, why=why, grade=worst_grade(why))


def _cautioned(measure: Measure, found: list[str]) -> Measure:
    own = [code for code in found if measure.name.startswith(BEARS_ON[code])]
    if measure.value is None or not own:
        return measure
    why = tuple(dict.fromkeys((*measure.why, *own)))
    return replace(measure, why=why, grade=worst_grade(why))
