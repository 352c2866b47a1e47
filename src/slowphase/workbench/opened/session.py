"""One open session: what is shown of it at once, and the desk on which its edits are tried.

What is shown comes from what was kept, where it was; the desk takes a moment to be made ready and
may be given up when memory is short. One thread at a time works on the desk.
"""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from slowphase.edits.edit import Edits
from slowphase.foundation.errors import InputError
from slowphase.workbench.opened.key import analysis_key
from slowphase.workbench.opened.shown import (
    Shown,
    TrialShown,
    shown_of,
    shown_of_failure,
    trial_shown,
)
from slowphase.workbench.refusals import Refusal

if TYPE_CHECKING:
    from slowphase.analysis.desk import Desk
    from slowphase.analysis.result import Analysis
    from slowphase.measures.result import TrialResult
    from slowphase.recording.session import Session
    from slowphase.reference.library import References
    from slowphase.store.rows import SessionRow
    from slowphase.workbench.opened.kept import Kept
    from slowphase.workbench.traces.pyramid import Samples

Json = dict[str, Any]
Tell = Callable[[str, float], None]
MadeOf = dict[str, tuple[object, object]]
TOLD = 64  # trials whose answers are held as plain data
SHOWN = 4  # states of the session
NOT_EXCLUDED = ("exclude", "set_aside")  # edits that pictures show as if they were not
HELD_BYTES = 20_000_000  # of a trial's lines that wait in memory to be kept
BYTES_A_SAMPLE = 4  # arrays of a measured trial for each array of its recording


@dataclass(frozen=True, slots=True)
class Wanted:
    """Which state of a session is asked for: its row, its edits, what it is held against."""

    row: SessionRow
    edits: Edits
    references: References

    @property
    def key(self) -> str:
        """The name of what is made of it."""
        return analysis_key(self.row, self.edits, self.references.digest)


@dataclass(frozen=True, slots=True)
class State:
    """The desk's last analysis, what is shown of it, and what each trial's picture was made of."""

    analysis: Analysis
    shown: Shown
    made_of: MadeOf


class OpenSession:
    """A session while anyone looks at it."""

    def __init__(self, kept: Kept) -> None:
        self.lock = threading.RLock()
        self.kept = kept
        self._desk: Desk | None = None
        self._state: State | None = None
        self._shown: OrderedDict[str, Shown] = OrderedDict()
        self._told: OrderedDict[str, Json] = OrderedDict()
        self._unkept: dict[str, TrialShown] = {}
        self._few = threading.Lock()
        self._keeping = threading.Lock()

    @property
    def id(self) -> str:
        """The session's id."""
        return self.kept.session

    @property
    def nbytes(self) -> int:
        """About how much memory the desk holds."""
        desk = self._desk
        if desk is None:
            return 0
        return BYTES_A_SAMPLE * recorded_bytes(desk.session)

    # What is shown

    def shown(self, key: str) -> Shown | None:
        """What is shown of a state, if it was ever made."""
        with self._few:
            if key in self._shown:
                return self._shown[key]
        found = self.kept.shown(key)
        if found is not None:
            self._remember(found)
        return found

    def trial(self, name: str) -> Json | None:
        """What is told of a trial under the name that `Shown.trials` gives."""
        with self._few:
            if name in self._told:
                self._told.move_to_end(name)
                return self._told[name]
        found = self.kept.trial(name)
        if found is not None:
            self._hold(name, found)
        return found

    def samples(self, traces: str, channel: str) -> Samples | None:
        """A channel's samples, from memory while they are not kept yet."""
        unkept = self._unkept.get(traces)
        if unkept is not None:
            line = unkept.lines.lines.get(channel)
            return line.samples if line else None
        return self.kept.samples(traces, channel)

    def forget(self, key: str) -> None:
        """Forget what is shown of a state: what was kept of it is gone, and it is made again."""
        with self.lock, self._few:
            self._shown.clear()
            self._told.clear()
            self._state = None
            self.kept.forget_shown(key)

    def _remember(self, shown: Shown) -> None:
        with self._few:
            self._shown[shown.key] = shown
            while len(self._shown) > SHOWN:
                self._shown.popitem(last=False)

    def _hold(self, name: str, told: Json) -> None:
        with self._few:
            self._told[name] = told
            while len(self._told) > TOLD:
                self._told.popitem(last=False)

    # The desk

    def measured(self, wanted: Wanted, tell: Tell) -> Shown:
        """What is shown of a state, measured where it was not; keeps it.

        ``tell`` hears what is done and the share that is behind; what it raises ends the work.
        """
        with self.lock:
            known = self.shown(wanted.key)
            try:
                state = self._ready(wanted, tell)
            except InputError as error:
                shown = known or shown_of_failure(wanted.key, error)
                self._remember(shown)
                self.kept.keep_shown(shown)
                return shown
            self.keep_now()
            return state.shown

    def analysis(self, wanted: Wanted, tell: Tell) -> Analysis:
        """The analysis of a state; raises `InputError` where nothing of it can be used."""
        with self.lock:
            return self._ready(wanted, tell).analysis

    def change(
        self, before: Wanted, tried: Edits, keep: Callable[[], Edits], tell: Tell
    ) -> tuple[Shown, Shown]:
        """Try edits, keep them in the store if they fit, and show the session before and after.

        Raises `Refusal` (422) where an edit does not fit the session: nothing is then kept.
        """
        with self.lock:
            was = self._ready(before, tell)
            desk = self._open_desk(before, tell)
            analysis = desk.analyze(tried)
            _check_fits(was.analysis, analysis)
            kept = keep()
            after = replace(before, edits=kept)
            self._state = self._taken_in(desk, after, replace(analysis, edits=kept), was)
            return was.shown, self._state.shown

    def give_up(self) -> bool:
        """Let go of the desk, unless someone works on it."""
        if not self.lock.acquire(blocking=False):
            return False
        try:
            self._desk = self._state = None
        finally:
            self.lock.release()
        return True

    def keep_now(self) -> None:
        """Keep what was made since; what is shown last, when its trials are kept."""
        with self._keeping:
            state, unkept = self._state, list(self._unkept.items())
            for traces, trial in unkept:
                if self.kept.keep_trial(trial):
                    self._unkept.pop(traces, None)
            if state is not None and not self._unkept:
                self.kept.keep_shown(state.shown)
                self.kept.prune()

    def _ready(self, wanted: Wanted, tell: Tell) -> State:
        """The desk at a state; measures where it must."""
        state = self._state
        if state is not None and state.shown.key == wanted.key:
            return state
        desk = self._open_desk(wanted, tell)
        done = _Done(len(desk.session.trials), tell)
        analysis = desk.analyze(wanted.edits, progress=done.say)
        self._state = self._taken_in(desk, wanted, analysis, state)
        return self._state

    def _open_desk(self, wanted: Wanted, tell: Tell) -> Desk:
        from slowphase.analysis.desk import Desk
        from slowphase.recording.read import read_session

        if self._desk is None:
            folder = self.kept.store.session_folder(self.id)
            session = read_session(folder, progress=lambda name: tell(f"reading {name}", 0.0))
            self._desk = Desk(session, references=wanted.references)
        self._desk.hold_against(wanted.references)
        return self._desk

    def _taken_in(self, desk: Desk, wanted: Wanted, analysis: Analysis, was: State | None) -> State:
        """A state with its trials ready to be drawn; those that are as they were stay so."""
        made_of = {trial.id: _made_of(trial, wanted.edits) for trial in analysis.trials}
        known = self.shown(wanted.key)
        trials = (
            dict(known.trials)
            if known is not None
            else self._trials(desk, wanted.edits, analysis, made_of, was)
        )
        shown = shown_of(wanted.key, analysis, trials)
        self._remember(shown)
        return State(analysis, shown, made_of)

    def _trials(
        self,
        desk: Desk,
        edits: Edits,
        analysis: Analysis,
        made_of: MadeOf,
        was: State | None,
    ) -> dict[str, str]:
        """The name of each trial's picture, made where it is not as it was."""
        recorded, used = desk.recorded(_as_recorded(edits, desk)), desk.recorded(edits)
        names = {}
        for raw, own, result in zip(recorded.trials, used.trials, analysis.trials, strict=True):
            if was is not None and _same(made_of[raw.id], was.made_of.get(raw.id)):
                names[raw.id] = was.shown.trials[raw.id]
            else:
                names[raw.id] = self._take(trial_shown(raw, own, result))
        return names

    def _take(self, trial: TrialShown) -> str:
        """Hold a trial until it is kept; a long one is kept at once, for it takes much memory."""
        if trial.lines.nbytes <= HELD_BYTES or not self.kept.keep_trial(trial):
            self._hold(trial.name, trial.told)
            self._unkept[trial.traces] = trial
        return trial.name


class _Done:
    """Tells the share of trials that are measured."""

    def __init__(self, trials: int, tell: Tell) -> None:
        self._trials, self._tell, self._done = max(trials, 1), tell, 0

    def say(self, trial: str) -> None:
        self._tell(f"measuring {trial}", self._done / self._trials)
        self._done += 1


def _made_of(result: TrialResult, edits: Edits) -> tuple[object, object]:
    """What a trial's picture is made of: the samples of its measurement, and its edits."""
    told = [(edit.kind, dict(edit.values)) for edit in edits.of_trial(result.id)]
    return result.evidence, told


def _same(now: tuple[object, object], before: tuple[object, object] | None) -> bool:
    return before is not None and now[0] is before[0] and now[1] == before[1]


def _as_recorded(edits: Edits, desk: Desk) -> Edits:
    """The edits without what they leave out, so that it can be seen and brought back.

    Where calibration trials give the degrees, what they leave out changes every trial: then all
    edits stay.
    """
    if desk.session.uncalibrated:
        return edits
    shown = tuple(edit for edit in edits.active if edit.kind not in NOT_EXCLUDED)
    return Edits(shown)


def _check_fits(before: Analysis, after: Analysis) -> None:
    """Raise where an edit of the last change does not fit the session."""
    known = set(before.problems)
    new = [p for p in after.problems if p.code == "edit_does_not_fit" and p not in known]
    if new:
        raise Refusal(
            422, new[0].code, new[0].message,
            found=new[0].found, expected=new[0].expected, problems=new,
        )  # fmt: skip


def recorded_bytes(session: Session) -> int:
    """How much memory the samples of a session take."""
    recordings = [trial.recording for trial in session.trials if trial.recording]
    return sum(recording.time_s.nbytes * (2 + len(recording.channels)) for recording in recordings)
