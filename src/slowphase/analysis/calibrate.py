"""Recordings in pixels or volts become degrees by the session's calibration trials."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import isfinite

from slowphase.analysis.settings import Settings
from slowphase.eye.calibration import Calibration, EyeCalibration, fit_calibration, to_degrees
from slowphase.foundation.problem import Problem
from slowphase.foundation.reasons import reasons
from slowphase.recording.raw_columns import not_calibrated
from slowphase.recording.session import Session
from slowphase.recording.trial import Recording, Trial

SIDES = ("right", "left")


@dataclass(frozen=True, slots=True)
class _Placed:
    """A calibration and where it stands in the session."""

    index: int
    calibration: Calibration


def calibrated(session: Session, settings: Settings) -> Session:
    """The session with all eye channels in degrees, those of its calibration trials as they were.

    Each eye of a trial takes the last calibration before it in the session's order that can be
    used for it, else the first one after it. A channel that none can turn is left out, and a
    problem (``not_calibrated``) says why. A session in degrees stays as it is.
    """
    if not session.uncalibrated:
        return session
    own = settings.measures.battery.calibration
    found = [
        _Placed(index, fit_calibration(trial, settings.eye, own))
        for index, trial in enumerate(session.trials)
        if trial.kind == "calibration"
    ]
    turned = tuple(_turned(trial, i, found) for i, trial in enumerate(session.trials))
    problems = _problems(session.trials, turned, found)
    return replace(session, trials=turned, problems=(*session.problems, *problems))


def _turned(trial: Trial, index: int, found: Sequence[_Placed]) -> Trial:
    recording = trial.recording
    if trial.kind == "calibration" or recording is None or not recording.raw_units:
        return trial
    chosen = {side: _chosen(recording, side, index, found) for side in SIDES}
    return replace(trial, recording=to_degrees(recording, chosen))


def _chosen(
    recording: Recording, side: str, index: int, found: Sequence[_Placed]
) -> EyeCalibration | None:
    """The last usable calibration before the trial, else the first one after it."""
    usable = [placed for placed in found if _serves(placed.calibration, recording, side)]
    before = [placed for placed in usable if placed.index < index]
    best = before[-1] if before else next(iter(usable), None)
    return best.calibration.of_eye(side) if best else None


def _serves(calibration: Calibration, recording: Recording, side: str) -> bool:
    """Whether a calibration knows the horizontal or vertical channel of an eye in its unit."""
    raw = {r: u for r, u in recording.raw_units.items() if r.endswith(side)}
    fits = {role: fit for role in raw if (fit := calibration.planes.get(role)) is not None}
    known = [role for role, fit in fits.items() if _is_known(fit.refused, fit.parameters[1])]
    return bool(known) and all(fits[role].unit == raw[role] for role in known)


def _is_known(refused: str | None, gain: float) -> bool:
    """NaN is the gain of a plane in which the target did not move."""
    return refused is None and isfinite(gain)


def _problems(
    before: Sequence[Trial], after: Sequence[Trial], found: Sequence[_Placed]
) -> list[Problem]:
    """One problem for each channel that stayed without degrees, with the trials concerned."""
    lost: dict[str, list[str]] = {}
    for raw, turned in zip(before, after, strict=True):
        if turned.kind == "calibration" or raw.recording is None or turned.recording is None:
            continue
        for role in sorted(raw.recording.raw_units.keys() - turned.recording.channels.keys()):
            lost.setdefault(role, []).append(raw.id)
    return [_problem(role, trials, found) for role, trials in lost.items()]


def _problem(role: str, trials: list[str], found: Sequence[_Placed]) -> Problem:
    codes = {placed.calibration.trial: _why(placed.calibration, role) for placed in found}
    told = "; ".join(f'"{trial}": {reasons()[code].text}' for trial, code in codes.items())
    return not_calibrated(role, trials, told, tuple(dict.fromkeys(codes.values())))


def _why(calibration: Calibration, role: str) -> str:
    fit = calibration.planes.get(role)
    if calibration.refused is not None or fit is None:
        return calibration.refused or "eye_not_seen"
    return fit.refused or "targets_in_one_plane"
