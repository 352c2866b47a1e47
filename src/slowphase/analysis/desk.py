"""One session on which edits are tried: a trial that an edit does not touch is measured once."""

from collections.abc import Callable

from threadpoolctl import threadpool_limits

from slowphase.analysis.result import Analysis
from slowphase.analysis.run import in_degrees, read_results
from slowphase.analysis.settings import Settings
from slowphase.edits.apply import apply
from slowphase.edits.edit import Edit, Edits
from slowphase.eye.settings import EyeSettings
from slowphase.measures.kinds import Measured, measured, of_one_drowsy, of_one_session
from slowphase.measures.prepare import Prepared
from slowphase.measures.result import TrialResult
from slowphase.recording.session import Session
from slowphase.recording.trial import Trial
from slowphase.reference.library import References, shipped

KEPT_OF_TRIAL = 32  # states of one trial that are kept, so that undo and redo are at once
KEPT_SAMPLES = 3_000_000  # in all states of one trial: fewer of them for a long one, at least two
State = tuple[tuple[str, str], ...]


class Desk:
    """A session with everything that was measured on it so far.

    `analyze` gives what `slowphase.analyze` gives for the same edits, bit for bit, and measures
    only the trials whose edits are new. A session whose eyes are calibrated by its own trials is
    measured whole, because an edit of a calibration reaches all of it.
    """

    def __init__(
        self,
        session: Session,
        *,
        settings: Settings | None = None,
        references: References | None = None,
    ) -> None:
        self._session = session
        self._settings = settings or Settings()
        self._references = references or shipped()
        self._kept: dict[str, dict[State, Measured]] = {}
        self._drowsy: dict[int, tuple[TrialResult, TrialResult]] = {}

    def analyze(self, edits: Edits, *, progress: Callable[[str], None] | None = None) -> Analysis:
        """The analysis with these edits; ``progress`` hears each trial that is measured anew."""
        session = apply(self._session, edits)
        with threadpool_limits(limits=1):
            whole = session.uncalibrated
            session = in_degrees(session, self._settings)
            found = [
                self._measure(trial, progress)
                if whole
                else self._known(trial, edits.of_trial(trial.id), progress)
                for trial in session.trials
            ]
            results = of_one_session(found, self._settings.eye, again=self._again)
        return read_results(session, results, edits, self._settings, self._references)

    @property
    def session(self) -> Session:
        """The session as it was read."""
        return self._session

    def hold_against(self, references: References) -> None:
        """Place measures in other reference sets from now on; nothing is measured anew."""
        self._references = references

    def recorded(self, edits: Edits) -> Session:
        """The session in degrees with these edits: what there was to measure, for pictures."""
        return in_degrees(apply(self._session, edits), self._settings)

    def _known(
        self, trial: Trial, edits: tuple[Edit, ...], progress: Callable[[str], None] | None
    ) -> Measured:
        """The trial as it was measured with the same edits, else measured now."""
        state = tuple((edit.kind, repr(sorted(edit.values.items()))) for edit in edits)
        kept = self._kept.setdefault(trial.id, {})
        if state not in kept:
            while len(kept) >= kept_states(trial):
                self._drowsy.pop(id(kept.pop(next(iter(kept)))[1]), None)
            kept[state] = self._measure(trial, progress)
        return kept[state]

    def _measure(self, trial: Trial, progress: Callable[[str], None] | None) -> Measured:
        if progress:
            progress(trial.id)
        return measured(trial, self._settings.eye, self._settings.measures)

    def _again(
        self, prepared: Prepared | None, single: TrialResult, eye: EyeSettings
    ) -> TrialResult:
        """A result as that of a drowsy patient, once for each that is kept."""
        known = self._drowsy.get(id(single))
        if known is None or known[0] is not single:
            known = (single, of_one_drowsy(prepared, single, eye))
            self._drowsy[id(single)] = known
        return known[1]


def kept_states(trial: Trial) -> int:
    """How many states of a trial are kept."""
    samples = trial.recording.time_s.size if trial.recording else 1
    return min(KEPT_OF_TRIAL, max(2, KEPT_SAMPLES // max(samples, 1)))
