"""Calibration: what the recorder shows for a target at a known place, eye by eye.

    recorded_h = offset_h + gain_hh·target_h + gain_hv·target_v
    recorded_v = offset_v + gain_vh·target_h + gain_vv·target_v

fitted to the fixations of one calibration trial with robust weights. ``to_degrees`` turns
recordings in the same unit into degrees by the inverse. A calibration that cannot be trusted says
why and is not used.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np

from slowphase.eye.calibration_settings import CalibrationSettings
from slowphase.eye.fixations import Fixations, find_fixations, with_times
from slowphase.eye.noise import robust_sd
from slowphase.eye.robust_line import RobustLine, robust_line, weighted
from slowphase.eye.settings import EyeSettings
from slowphase.foundation.arrays import BoolArray, FloatArray
from slowphase.recording.eyes import is_alive
from slowphase.recording.keys import is_number
from slowphase.recording.targets import PLANES, TargetSteps, target_steps
from slowphase.recording.trial import Recording, Trial

SIDES = ("right", "left")
LEAST_WEIGHT = 0.05  # under it a fixation is shown as left out
CALIBRATED = "calibrated_here"


@dataclass(frozen=True, slots=True)
class PlaneFit:
    """One channel of one eye: offset, gain per degree of its own plane and of the other.

    ``parameters``, shape (3,), in the channel's unit (per degree), NaN where the targets do not
    tell; ``covariance`` (3, 3), ``degrees`` of freedom; ``residual`` and ``weight`` of each
    fixation, shape (k,), NaN and 0 where there was none. ``refused`` is the reason why the fit may
    not be used, None where it may.
    """

    unit: str
    parameters: FloatArray
    covariance: FloatArray
    degrees: float
    residual: FloatArray
    weight: FloatArray
    refused: str | None = None

    @property
    def gain_error(self) -> float:
        """Standard error of the gain as a share of it."""
        return float(np.sqrt(self.covariance[1, 1])) / max(abs(float(self.parameters[1])), 1e-12)


@dataclass(frozen=True, slots=True)
class EyeCalibration:
    """Both channels of one eye as (offset, gain) in matrices, which is all that use needs.

    ``offset``, shape (2,), and ``gain``, shape (2, 2): recorded = offset + gain @ target, each
    horizontal and vertical; NaN where unknown.
    """

    offset: FloatArray
    gain: FloatArray


@dataclass(frozen=True, slots=True)
class Calibration:
    """The fits of one calibration trial.

    ``planes`` holds a fit by role (``eye_h_right``, …) for each channel that was recorded,
    ``fixations`` by side what they rest on. ``refused`` is the reason that holds for the whole
    trial, None where there is none.
    """

    trial: str
    steps: TargetSteps | None
    planes: Mapping[str, PlaneFit] = field(default_factory=dict)
    fixations: Mapping[str, Fixations] = field(default_factory=dict)
    refused: str | None = None

    def of_eye(self, side: str) -> EyeCalibration | None:
        """What use of one eye needs, refused channels left out; None where nothing is left."""
        fits = [self.planes.get(f"eye_{plane}_{side}") for plane in PLANES]
        usable = [fit is not None and fit.refused is None for fit in fits]
        if not any(usable):
            return None
        offset, gain = np.full(2, np.nan), np.full((2, 2), np.nan)
        for own, fit in enumerate(fits):
            if fit is not None and fit.refused is None:
                offset[own], gain[own, own], gain[own, 1 - own] = fit.parameters
        return EyeCalibration(offset, gain)


def fit_calibration(trial: Trial, eye: EyeSettings, settings: CalibrationSettings) -> Calibration:
    """Fit every eye channel of a calibration trial.

    Refuses the whole trial for ``targets_unknown`` (no channel, no usable key), and single channels
    for ``eye_not_seen``, ``too_few_targets``, ``did_not_look``, ``wrong_targets``,
    ``reversed_to_target`` (channels in degrees only; others find their sign), and
    ``calibration_unsure`` (the gain's error is beyond ``gain_error_max``).
    """
    steps, recording = target_steps(trial), trial.recording
    if steps is None or recording is None:
        return Calibration(trial.id, None, refused="targets_unknown")
    if not steps.timed:
        hold = trial.stimulus.get("hold_s")
        hold_s = float(str(hold)) if is_number(hold) else None
        steps = with_times(steps, recording, hold_s, settings)
        if steps is None:
            return Calibration(trial.id, None, refused="targets_unknown")
    sides = SIDES if trial.eye == "both" else (trial.eye,)
    planes: dict[str, PlaneFit] = {}
    fixations: dict[str, Fixations] = {}
    for side in sides:
        roles = [f"eye_{plane}_{side}" for plane in PLANES]
        if not any(role in recording.channels for role in roles):
            continue
        fixations[side] = find_fixations(recording, side, steps, eye, settings)
        for own, role in enumerate(roles):
            if role in recording.channels:
                planes[role] = fit_plane(recording, role, own, steps, fixations[side], settings)
    return Calibration(trial.id, steps, planes, fixations)


def fit_plane(
    recording: Recording,
    role: str,
    own: int,
    steps: TargetSteps,
    fixations: Fixations,
    settings: CalibrationSettings,
) -> PlaneFit:
    """Offset, gain and cross-talk of one channel; ``own`` is 0 horizontal, 1 vertical."""
    unit = recording.raw_units.get(role, "deg")
    position = fixations.position[:, own]
    seen = np.isfinite(position) & np.isfinite(steps.place_deg).all(axis=1)
    moving = _moving(steps.place_deg[seen], own)
    nothing = _nothing(unit, len(steps))
    if not is_alive(recording.channels[role]) or not seen.any():
        return replace(nothing, refused="eye_not_seen")
    if seen.sum() < max(settings.fixations_min, 2 + sum(moving)):
        few = len(steps) < settings.fixations_min
        return replace(nothing, refused="too_few_targets" if few else "eye_not_seen")
    if moving[0] and len(np.unique(steps.place_deg[seen, own])) < settings.places_min:
        return replace(nothing, refused="too_few_targets")
    within = robust_spread(fixations.spread[seen, own])
    line = _line(steps, seen, position[seen], own, moving, unit, settings)
    fit = _filled(nothing, line, seen, moving)
    if not moving[0]:
        return fit
    return replace(fit, refused=_refusal(fit, line, position[seen], within, steps, own, settings))


def _moving(place_deg: FloatArray, own: int) -> tuple[bool, bool]:
    """Whether the target moved in the channel's own plane, and apart from that in the other."""
    if not len(place_deg):
        return False, False
    centred = place_deg - place_deg.mean(axis=0)
    here, there = np.ptp(place_deg, axis=0)[[own, 1 - own]] > 0
    apart = np.linalg.matrix_rank(centred, tol=1e-6) > 1
    return bool(here), bool(there and (apart or not here))


def _nothing(unit: str, count: int) -> PlaneFit:
    unknown = np.full(3, np.nan)
    return PlaneFit(
        unit, unknown, np.full((3, 3), np.nan), 1.0, np.full(count, np.nan), np.zeros(count)
    )


def robust_spread(spread: FloatArray) -> float:
    """The usual spread within fixations; 0 where none is known."""
    known = spread[np.isfinite(spread)]
    return float(np.median(known)) if known.size else 0.0


def _line(
    steps: TargetSteps,
    seen: BoolArray,
    position: FloatArray,
    own: int,
    moving: tuple[bool, bool],
    unit: str,
    settings: CalibrationSettings,
) -> RobustLine:
    """The line through the fixations seen; its covariance holds a shared undershoot too."""
    place = steps.place_deg[seen]
    others = [place[:, plane] for plane, on in zip((own, 1 - own), moving, strict=True) if on]
    columns = np.column_stack([np.ones(len(place)), *others])
    per_deg = 1.0
    if unit != "deg" and moving[0]:
        per_deg = float(np.ptp(position) / np.ptp(place[:, own]))
    line = robust_line(columns, position, settings.outlier_sd, settings.scatter_min_deg * per_deg)
    jump = np.sign(np.diff(steps.place_deg[:, own], prepend=steps.place_deg[:1, own]))[seen]
    moved = weighted(columns, jump, line.weight) * settings.undershoot_deg * per_deg
    return replace(line, covariance=line.covariance + np.outer(moved, moved))


def _filled(
    nothing: PlaneFit, line: RobustLine, seen: BoolArray, moving: tuple[bool, bool]
) -> PlaneFit:
    """The line's numbers in their places; NaN where the targets told nothing."""
    index = np.flatnonzero([True, *moving])
    parameters, covariance = nothing.parameters.copy(), nothing.covariance.copy()
    residual, weight = nothing.residual.copy(), nothing.weight.copy()
    parameters[index] = line.parameters
    covariance[np.ix_(index, index)] = line.covariance
    residual[seen], weight[seen] = line.residual, line.weight
    return replace(
        nothing,
        parameters=parameters,
        covariance=covariance,
        degrees=line.degrees,
        residual=residual,
        weight=weight,
    )


def _refusal(
    fit: PlaneFit,
    line: RobustLine,
    position: FloatArray,
    within: float,
    steps: TargetSteps,
    own: int,
    settings: CalibrationSettings,
) -> str | None:
    """Why a fit may not be used, the plainest reason first."""
    if not _followed(fit.unit, position, within, steps.place_deg[:, own], settings):
        return "did_not_look"
    on_target = line.weight > LEAST_WEIGHT
    left = float(np.sum(line.weight * line.residual**2))
    middle = float(np.average(position, weights=line.weight)) if on_target.any() else 0.0
    whole = float(np.sum(line.weight * (position - middle) ** 2))
    explained = 1.0 - left / whole if whole > 0 else 0.0
    if on_target.mean() < settings.on_target_share or explained < settings.explained_min:
        return "wrong_targets"
    if fit.unit == "deg" and fit.parameters[1] < 0:
        return "reversed_to_target"
    return "calibration_unsure" if fit.gain_error > settings.gain_error_max else None


def _followed(
    unit: str,
    position: FloatArray,
    within: float,
    places: FloatArray,
    settings: CalibrationSettings,
) -> bool:
    """Whether the eye took up places as unlike as those of the target."""
    between = float(np.std(position))
    if unit == "deg":
        return between > settings.followed_share * float(np.nanstd(places))
    return between > settings.stood_out * within


def to_degrees(recording: Recording, calibration: Mapping[str, EyeCalibration | None]) -> Recording:
    """The recording with its raw eye channels in degrees, by what is given for each eye.

    ``calibration`` maps ``right`` and ``left`` to offsets and gains, whoever found them. A raw
    channel without a known gain is left out: nothing says how far it moved. Channels in degrees
    stay as they are. Sets ``calibrated_here``.
    """
    channels = dict(recording.channels)
    for side in SIDES:
        raw = [f"eye_{plane}_{side}" for plane in PLANES]
        raw = [role for role in raw if role in recording.raw_units and role in channels]
        turned = _eye_in_degrees(recording, side, raw, calibration.get(side))
        for role in raw:
            del channels[role]
        channels |= turned
    used = channels.keys() & recording.raw_units.keys()
    return replace(
        recording,
        channels=channels,
        raw_units={},
        why=(*recording.why, *((CALIBRATED,) if used else ())),
    )


def _eye_in_degrees(
    recording: Recording, side: str, raw: list[str], known: EyeCalibration | None
) -> dict[str, FloatArray]:
    if known is None or not raw:
        return {}
    roles = [f"eye_{plane}_{side}" for plane in PLANES]
    whole = np.isfinite([*known.offset, *known.gain.diagonal()]).all()
    if whole and len(raw) == 2 and all(is_alive(recording.channels[role]) for role in raw):
        both = np.vstack([recording.channels[role] for role in roles])
        own, across = known.gain.diagonal(), np.nan_to_num(known.gain)
        if abs(float(np.linalg.det(across))) > 1e-3 * abs(float(np.prod(own))):
            turned = np.linalg.inv(across) @ (both - known.offset[:, None])
            return dict(zip(roles, turned, strict=True))
    single = {}
    for own_index, role in enumerate(roles):
        gain = known.gain[own_index, own_index]
        if role in raw and np.isfinite(gain) and gain != 0:
            single[role] = (recording.channels[role] - known.offset[own_index]) / gain
    return single


def scatter(residual: FloatArray, weight: FloatArray) -> float:
    """SD of the residuals of the fixations in use, in the channel's unit."""
    used = residual[weight > LEAST_WEIGHT]
    return float(np.sqrt(np.mean(used**2))) if used.size else robust_sd(residual)
