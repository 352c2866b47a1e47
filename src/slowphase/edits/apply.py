"""A session as its edits leave it; what no edit touches stays the same object."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

import numpy as np

from slowphase.edits.edit import Edit, Edits
from slowphase.foundation.problem import Problem
from slowphase.recording.head import rebuild_velocity
from slowphase.recording.keys import kind_tables, value_fits
from slowphase.recording.report_problem import make_problem, quote
from slowphase.recording.session import Session
from slowphase.recording.stimulus_check import check_stimulus
from slowphase.recording.trial import HeadSource, Recording, Trial

ROLES: Mapping[str, str] = {"horizontal": "eye_h", "vertical": "eye_v", "torsional": "eye_t"}
SIDES = ("right", "left")


@dataclass(frozen=True, slots=True)
class Refused:
    """Why an edit does not fit its trial: what was found and what would."""

    what: str
    expected: str


Changed = Trial | Refused


def apply(session: Session, edits: Edits) -> Session:
    """The session with every edit that holds applied, in their order.

    An edit that does not fit is left out, and a problem (``edit_does_not_fit``) says which and
    why. Trials that no edit concerns are the same objects as before.
    """
    problems: list[Problem] = []
    known = {trial.id for trial in session.trials}
    for edit in edits.active:
        if edit.trial is not None and edit.trial not in known:
            ids = ", ".join(sorted(known)) or "none"
            refused = Refused("there is no such trial", f"one of {ids}")
            problems.append(_problem(edit, edit.trial, refused))
    trials = tuple(_edited(trial, edits, problems) for trial in session.trials)
    return replace(session, trials=trials, problems=(*session.problems, *problems))


def _edited(trial: Trial, edits: Edits, problems: list[Problem]) -> Trial:
    """The trial with its edits; those that do not fit go to the problems."""
    for edit in edits.of_trial(trial.id):
        whole = edit.trial is None
        changed = KINDS[edit.kind](trial, edit)
        if isinstance(changed, Refused):
            if not whole:
                problems.append(_problem(edit, trial.id, changed))
        else:
            trial = changed
    return trial


def _exclude(trial: Trial, edit: Edit) -> Changed:
    recording, span = trial.recording, _span(edit)
    missing = _outside(recording, *span)
    if missing is not None or recording is None:
        return missing or NOT_RECORDED
    inside = (recording.time_s >= span[0]) & (recording.time_s < span[1])
    channels = {
        role: np.where(inside, np.nan, values) if role.startswith("eye_") else values
        for role, values in recording.channels.items()
    }
    hand = replace(recording.by_hand, excluded=(*recording.by_hand.excluded, span))
    return _with(trial, replace(recording, channels=channels, by_hand=hand), "edited_by_hand")


def _quick_phase(trial: Trial, edit: Edit) -> Changed:
    recording, span = trial.recording, _span(edit)
    missing = _outside(recording, *span)
    if missing is not None or recording is None:
        return missing or NOT_RECORDED
    hand = replace(recording.by_hand, quick=(*recording.by_hand.quick, span))
    return _with(trial, replace(recording, by_hand=hand), "edited_by_hand")


def _no_quick_phase(trial: Trial, edit: Edit) -> Changed:
    recording, at = trial.recording, float(edit.values["at_s"])
    missing = _outside(recording, at, at)
    if missing is not None or recording is None:
        return missing or NOT_RECORDED
    hand = replace(recording.by_hand, not_quick=(*recording.by_hand.not_quick, at))
    return _with(trial, replace(recording, by_hand=hand), "edited_by_hand")


def _eye(trial: Trial, edit: Edit) -> Changed:
    eye = str(edit.values["eye"])
    channels = trial.recording.channels if trial.recording else {}
    lacking = [s for s in SIDES if eye in (s, "both") and not any(c.endswith(s) for c in channels)]
    if trial.recording is None:
        return NOT_RECORDED
    if lacking and eye != "both":
        return Refused(f"the {eye} eye was not recorded", "an eye that was recorded")
    return replace(trial, eye=eye)


def _calibration(trial: Trial, edit: Edit) -> Changed:
    recording, eye = trial.recording, str(edit.values["eye"])
    if recording is None:
        return NOT_RECORDED
    role = ROLES[str(edit.values["plane"])]
    names = [f"{role}_{side}" for side in SIDES if eye in (side, "both")]
    own = [name for name in names if name in recording.channels]
    if not own:
        return Refused(f"there is no {edit.values['plane']} channel of that eye", "another eye")
    gain, offset = float(edit.values["gain"]), float(edit.values.get("offset", 0.0))
    turned = {name: gain * (recording.channels[name] - offset) for name in own}
    raw = {name: unit for name, unit in recording.raw_units.items() if name not in own}
    changed = replace(recording, channels={**recording.channels, **turned}, raw_units=raw)
    return _with(trial, changed, "calibrated_by_hand")


def _stimulus(trial: Trial, edit: Edit) -> Changed:
    name, value = str(edit.values["key"]), edit.values["value"]
    table = kind_tables().get(trial.kind)
    key = table.keys.get(name) if table else None
    if key is None:
        known = ", ".join(table.keys) if table else "none"
        return Refused(f"{quote(name)} is no key of a {trial.kind}", f"one of {known}")
    if not value_fits(key, value):
        return Refused(f"{name} is {quote(value)}", key.expected)
    changed = replace(trial, stimulus={**trial.stimulus, name: value})
    contradiction = _contradiction(changed)
    if contradiction is not None:
        return contradiction
    return _moved(_with(changed, trial.recording, "stimulus_by_hand"))


def _contradiction(trial: Trial) -> Refused | None:
    """Why the measured chair does not do what the keys say, as when a session is read."""
    recording = trial.recording
    head = recording.head_velocity_deg_s if recording else None
    if recording is None or head is None or recording.head_source == "rebuilt":
        return None
    told = check_stimulus(
        trial.kind, trial.stimulus, recording.time_s, head,
        of_position=recording.head_source == "position",
    ).contradiction  # fmt: skip
    return None if told is None else Refused(f"{told[0]}: {told[1]}", told[2])


def _moved(trial: Trial) -> Trial:
    """The trial with the chair's motion rebuilt, where it was never recorded."""
    recording = trial.recording
    if recording is None or recording.head_source not in (None, "rebuilt"):
        return trial
    velocity = rebuild_velocity(trial.kind, trial.stimulus, recording.time_s)
    source: HeadSource | None = None if velocity is None else "rebuilt"
    return replace(
        trial, recording=replace(recording, head_velocity_deg_s=velocity, head_source=source)
    )


def _set_aside(trial: Trial, edit: Edit) -> Changed:
    return replace(trial, outcome="set aside", reason=edit.reason, recording=None)


KINDS: Mapping[str, Callable[[Trial, Edit], Changed]] = {
    "exclude": _exclude,
    "quick_phase": _quick_phase,
    "no_quick_phase": _no_quick_phase,
    "eye": _eye,
    "calibration": _calibration,
    "stimulus": _stimulus,
    "set_aside": _set_aside,
}
NOT_RECORDED = Refused("the trial has no samples", "a trial with a recording")


def _span(edit: Edit) -> tuple[float, float]:
    return float(edit.values["start_s"]), float(edit.values["stop_s"])


def _outside(recording: Recording | None, start_s: float, stop_s: float) -> Refused | None:
    """Why an interval does not lie in a recording."""
    if recording is None:
        return NOT_RECORDED
    first, last = float(recording.time_s[0]), float(recording.time_s[-1])
    if stop_s < first or start_s > last:
        found = f"{start_s:g} s to {stop_s:g} s lies outside the recording"
        return Refused(found, f"{first:g} s to {last:g} s")
    return None


def _with(trial: Trial, recording: Recording | None, code: str) -> Trial:
    """The trial with a recording that carries a reason once."""
    if recording is None:
        return trial
    why = tuple(dict.fromkeys((*recording.why, code)))
    return replace(trial, recording=replace(recording, why=why))


def _problem(edit: Edit, trial: str, refused: Refused) -> Problem:
    return make_problem(
        "edit_does_not_fit",
        f"edit {edit.id} ({edit.kind}): {refused.what}",
        expected=refused.expected,
        remedy="take the edit back or correct it; it was not applied",
        found=refused.what,
        trial=trial,
        file="edits",
    )
