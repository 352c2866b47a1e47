"""One explanation of a session: one reflex for all its trials, and what could make it."""

from slowphase.analysis.result import Analysis
from slowphase.analysis.settings import Settings
from slowphase.fit.result import SessionReflex
from slowphase.fit.session import session_reflex


def explain(analysis: Analysis, *, settings: Settings | None = None) -> SessionReflex | None:
    """Fit one reflex to all trials of an analysed session.

    ``settings`` are those of the analysis. None where no trial in the dark moves the chair: then
    there is no reflex to explain. The same analysis and settings give the same result.
    """
    from threadpoolctl import threadpool_limits

    settings = settings or Settings()
    with threadpool_limits(limits=1):
        return session_reflex(analysis.trials, settings.session, settings.measures)
