"""One open session: what is shown of it at once, and the desk on which its edits are tried.

What is shown comes from what was kept, where it was; the desk takes a moment to be made ready and
may be given up when memory is short. One thread at a time works on the desk.
"""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial
from typing import TYPE_CHECKING

from slowphase.edits.edit import Edits
from slowphase.foundation.errors import InputError
from slowphase.workbench.opened.key import analysis_key
from slowphase.workbench.opened.memory import give_back
from slowphase.workbench.opened.shown import (
    Shown,
    TrialShown,
    TrialTold,
    shown_of,
    shown_of_failure,
    trial_shown,
)
from slowphase.workbench.refusals import Refusal

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from slowphase.analysis.desk import Desk
    from slowphase.analysis.result import Analysis
    from slowphase.measures.result import TrialResult
    from slowphase.recording.session import Session
    from slowphase.recording.trial import Trial
    from slowphase.reference.library import References
    from slowphase.store.rows import SessionRow
    from slowphase.workbench.opened.kept import Kept
    from slowphase.workbench.traces.pyramid import Samples

Tell = Callable[[str, float], None]
TOLD = 32  # trials whose answers are held
SHOWN = 4  # states of the session
NOT_EXCLUDED = ("exclude", "set_aside")  # edits that pictures show as if they were not
NAME_SIGNS = 24  # of a state's key in the names of the pictures that it brought
SEEN, SEEN_SAMPLES = 16, 2_000_000  # pictures of one trial, and samples in all of them
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
    """The desk's last analysis, and what is shown of it."""

    analysis: Analysis
    shown: Shown


@dataclass(frozen=True, slots=True)
class Seen:
    """What a trial's picture was made of: the samples of its measurement, its edits; its name."""

    evidence: object
    edits: object
    name: str


class Unkept:
    """A trial whose picture is made when it is first asked for, and kept when there is time."""

    def __init__(self, name: str, recorded: Trial, used: Trial, result: TrialResult) -> None:
        self._make = partial(trial_shown, name, recorded, used, result)
        self._made: TrialShown | None = None
        self._lock = threading.Lock()

    def shown(self) -> TrialShown:
        """The trial, made once."""
        with self._lock:
            if self._made is None:
                self._made = self._make()
            return self._made


class OpenSession:
    """A session while anyone looks at it."""

    def __init__(self, kept: Kept) -> None:
        self.lock = threading.RLock()
        self.kept = kept
        self._desk: Desk | None = None
        self._state: State | None = None
        self._shown: OrderedDict[str, Shown] = OrderedDict()
        self._told: OrderedDict[str, TrialTold] = OrderedDict()
        self._unkept: dict[str, Unkept] = {}
        self._seen: dict[str, list[Seen]] = {}
        self._few = threading.Lock()
        self._keeping = threading.Lock()
        self._kept_key = ""

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
        found = self.held(key) or self.kept.shown(key)
        if found is not None:
            self._remember(found)
        return found

    def held(self, key: str) -> Shown | None:
        """What is shown of a state, if it is in memory."""
        with self._few:
            return self._shown.get(key)

    def trial(self, name: str) -> TrialTold | None:
        """What is told of a trial under the name that `Shown.trials` gives."""
        with self._few:
            if name in self._told:
                self._told.move_to_end(name)
                return self._told[name]
        unkept = self._unkept.get(name)
        found = unkept.shown().told if unkept else self.kept.trial(name)
        if found is not None:
            self._hold(name, found)
        return found

    def samples(self, name: str, channel: str) -> Samples | None:
        """A channel's samples, from memory while they are not kept yet."""
        unkept = self._unkept.get(name)
        if unkept is not None:
            line = unkept.shown().lines.lines.get(channel)
            return line.samples if line else None
        return self.kept.samples(name, channel)

    def forget(self, key: str) -> None:
        """Forget what is shown of a state: what was kept of it is gone, and it is made again."""
        with self.lock, self._few:
            self._shown.clear()
            self._told.clear()
            self._seen.clear()
            self._state, self._kept_key = None, ""
            self.kept.forget_shown(key)

    def _remember(self, shown: Shown) -> None:
        with self._few:
            self._shown[shown.key] = shown
            self._shown.move_to_end(shown.key)
            while len(self._shown) > SHOWN:
                self._shown.popitem(last=False)

    def _hold(self, name: str, told: TrialTold) -> None:
        with self._few:
            self._told[name] = told
            while len(self._told) > TOLD:
                self._told.popitem(last=False)

    # The desk

    def measured(self, wanted: Wanted, tell: Tell) -> Shown:
        """What is shown of a state, measured where it was not, and kept; the desk is then ready.

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
            if known is None:
                self.keep_now()
            return state.shown

    def ready_for(self, key: str) -> bool:
        """Whether an edit of this state can be tried at once."""
        state = self._state
        return state is not None and state.shown.key == key

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
            self._state = self._taken_in(desk, after, replace(analysis, edits=kept))
            return was.shown, self._state.shown

    def give_up(self) -> bool:
        """Let go of the desk, unless someone works on it."""
        if not self.lock.acquire(blocking=False):
            return False
        try:
            self.keep_now()
            self._desk = self._state = None
            self._seen.clear()
        finally:
            self.lock.release()
        return True

    def keep_now(self) -> None:
        """Keep what was made since; what is shown last, when its trials are kept."""
        with self._keeping:
            state = self._state
            for name in list(self._unkept):  # by name: no list may hold their lines
                if self.kept.keep_trial(self._unkept[name].shown()):
                    del self._unkept[name]
            if state is not None and not self._unkept and state.shown.key != self._kept_key:
                self.kept.keep_shown(state.shown)
                self.kept.prune()
                self._kept_key = state.shown.key

    def _ready(self, wanted: Wanted, tell: Tell) -> State:
        """The desk at a state; measures where it must."""
        state = self._state
        if state is not None and state.shown.key == wanted.key:
            return state
        desk = self._open_desk(wanted, tell)
        done = _Done(len(desk.session.trials), tell)
        analysis = desk.analyze(wanted.edits, progress=done.say)
        self._state = self._taken_in(desk, wanted, analysis)
        return self._state

    def _open_desk(self, wanted: Wanted, tell: Tell) -> Desk:
        from slowphase.analysis.desk import Desk
        from slowphase.recording.read import read_session

        if self._desk is None:
            folder = self.kept.store.session_folder(self.id)
            session = read_session(folder, progress=lambda name: tell(f"reading {name}", 0.0))
            give_back()  # what reading took; measuring takes as much
            self._desk = Desk(session, references=wanted.references)
        self._desk.hold_against(wanted.references)
        return self._desk

    def _taken_in(self, desk: Desk, wanted: Wanted, analysis: Analysis) -> State:
        """A state with a name for each trial's picture; those that are as they were keep theirs."""
        known = self.shown(wanted.key)
        names: Mapping[str, str] = known.trials if known else {}
        new = [
            result.id
            for place, result in enumerate(analysis.trials)
            if self._name(result, wanted, names.get(result.id), place)
        ]
        trials = {result.id: self._seen[result.id][-1].name for result in analysis.trials}
        if new:
            self._wait_to_keep(desk, wanted.edits, analysis, trials, new)
        shown = shown_of(wanted.key, analysis, trials)
        self._remember(shown)
        return State(analysis, shown)

    def _name(self, result: TrialResult, wanted: Wanted, kept: str | None, place: int) -> bool:
        """Put the name of a trial's picture last among those seen; whether it is to be made."""
        edits = [(edit.kind, dict(edit.values)) for edit in wanted.edits.of_trial(result.id)]
        seen = self._seen.setdefault(result.id, [])
        for index, one in enumerate(seen):
            if one.evidence is result.evidence and one.edits == edits:
                seen.append(seen.pop(index))
                return False
        name = kept or f"{wanted.key[:NAME_SIGNS]}-{place}"
        seen.append(Seen(result.evidence, edits, name))
        del seen[: -seen_states(result)]
        return kept is None

    def _wait_to_keep(
        self,
        desk: Desk,
        edits: Edits,
        analysis: Analysis,
        names: Mapping[str, str],
        new: Sequence[str],
    ) -> None:
        """Have the pictures of some trials made when they are asked for."""
        recorded, used = desk.recorded(_as_recorded(edits, desk)), desk.recorded(edits)
        for raw, own, result in zip(recorded.trials, used.trials, analysis.trials, strict=True):
            if raw.id in new:
                self._unkept[names[raw.id]] = Unkept(names[raw.id], raw, own, result)


class _Done:
    """Tells the share of trials that are measured."""

    def __init__(self, trials: int, tell: Tell) -> None:
        self._trials, self._tell, self._done = max(trials, 1), tell, 0

    def say(self, trial: str) -> None:
        self._tell(f"measuring {trial}", self._done / self._trials)
        self._done += 1


def seen_states(result: TrialResult) -> int:
    """How many pictures of a trial are remembered, so that undo brings back the same one."""
    samples = result.evidence.horizontal.time_s.size if result.evidence else 1
    return max(2, min(SEEN, SEEN_SAMPLES // max(samples, 1)))


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
