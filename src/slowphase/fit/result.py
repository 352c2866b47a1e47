"""What the whole-session fit returns: one reflex with intervals, agreement, trial by trial."""

from dataclasses import dataclass

from slowphase.fit.agreement import Agreement
from slowphase.fit.effects import Effect
from slowphase.fit.explanations import Explanation
from slowphase.fit.healthy import Moved
from slowphase.fit.predict import TrialView
from slowphase.foundation.reasons import Grade
from slowphase.measures.measure import Measure


@dataclass(frozen=True, slots=True)
class SessionReflex:
    """One reflex for all trials of a session.

    ``measures`` hold the reflex and the nystagmus with their intervals; those that the trials do
    not tell are present without a value. ``agreement`` tests whether one reflex explains all
    phases and decays; ``views`` are the trials as it sees them. ``moved`` lays each parameter
    beside the healthy model, ``effects`` say what each does to each measure, and ``explanations``
    what could make such a reflex, the best first.
    """

    measures: tuple[Measure, ...]
    agreement: Agreement
    views: tuple[TrialView, ...]
    moved: tuple[Moved, ...]
    effects: tuple[Effect, ...]
    explanations: tuple[Explanation, ...]
    grade: Grade
    why: tuple[str, ...]

    @property
    def not_told(self) -> tuple[str, ...]:
        """Names of what the trials cannot tell."""
        return tuple(dict.fromkeys(m.name for m in self.measures if m.value is None))

    def view_of(self, trial: str) -> TrialView | None:
        """One trial as the session's reflex sees it; None where it took no part."""
        return next((view for view in self.views if view.trial == trial), None)
