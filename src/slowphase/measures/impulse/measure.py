"""The measures of a trial of head impulses, canal by canal."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from slowphase.eye.settings import EyeSettings
from slowphase.foundation.arrays import FloatArray
from slowphase.foundation.reasons import worst_grade
from slowphase.measures.impulse.evidence import evidence_of
from slowphase.measures.impulse.find import find_pushes
from slowphase.measures.impulse.impulse import Impulse, Impulses, impulses_of
from slowphase.measures.impulse.order import predictable
from slowphase.measures.impulse.plane import CANALS, HeadMotion, head_motion, plane_of
from slowphase.measures.impulse.saccades import Saccade
from slowphase.measures.impulse.settings import ImpulseSettings
from slowphase.measures.impulse.signals import Signals, signals_of
from slowphase.measures.interval import NOTHING, Estimate, Maker
from slowphase.measures.measure import Measure
from slowphase.measures.prepare import blank, number, recorded_eyes
from slowphase.measures.result import Quality, TrialResult
from slowphase.measures.settings import MeasureSettings
from slowphase.measures.statistics import (
    median_estimate,
    never_negative,
    share_estimate,
    slope_estimate,
    spread_of,
)
from slowphase.recording.trial import Recording, Trial

GAINS = (  # name, definition, field of an impulse
    ("gain", "velocity_area", "gain"),
    ("gain_regression", "regression", "gain_regression"),
    ("gain_at_60_ms", "velocity_at_60_ms", "gain_at_60_ms"),
    ("gain_at_80_ms", "velocity_at_80_ms", "gain_at_80_ms"),
)
PER_100_DEG_S = 100.0  # the unit of the speed slope's denominator


def measure_impulse(trial: Trial, eye: EyeSettings, settings: MeasureSettings) -> TrialResult:
    """Gain, corrective saccades, spread and dependence on speed of both canals of a plane.

    Sets ``plane_unknown``, ``head_not_recorded``, ``no_eye_in_plane`` where nothing can be
    measured, and the reasons of `trial_reasons`.
    """
    own, recording, plane = settings.battery.impulse, trial.recording, plane_of(trial.stimulus)
    if plane is None or recording is None:
        return _nothing(trial, "plane_unknown")
    head = head_motion(recording, plane)
    if head is None or np.isfinite(head.in_plane_deg_s).sum() < settings.head_samples_min:
        return _nothing(trial, "head_not_recorded", plane)
    signals = signals_of(trial, recording, plane, head, eye, own)
    if signals is None:
        return _nothing(trial, "no_eye_in_plane", plane)
    return _measured(trial, recording, signals, head, plane, own)


def no_impulse(make: Maker, why: str) -> list[Measure]:
    """The gains of the lateral canals, missing for one reason."""
    return _missing_gains(make, why, "lateral")


def _missing_gains(make: Maker, why: str, plane: str) -> list[Measure]:
    return [
        make("gain", NOTHING, "1", of=canal, definition="velocity_area", why=(why,))
        for canal in CANALS[plane]
    ]


def _nothing(trial: Trial, why: str, plane: str = "lateral") -> TrialResult:
    measures = _missing_gains(Maker(trial.id), why, plane)
    return replace(blank(trial, Quality(0.0, "unusable", (why,))), measures=tuple(measures))


def _measured(
    trial: Trial, recording: Recording, signals: Signals, head: HeadMotion, plane: str,
    settings: ImpulseSettings,
) -> TrialResult:  # fmt: skip
    found = impulses_of(signals, plane, settings)
    why = (*recording.why, *trial_reasons(trial, signals, found, settings))
    make = Maker(trial.id, why)
    measures = [
        one
        for canal in CANALS[plane]
        for one in of_canal(
            make, found, canal, settings, blurred=recording.head_source == "position"
        )
    ]
    if not found.impulses:
        measures = _missing_gains(make, _why_none(signals, found, settings), plane)
    else:
        measures.append(make("eye_lag", _lag(found), "ms", definition="best_shift"))
    seen = 100.0 * float(np.mean(~signals.hidden))
    reasons = tuple(dict.fromkeys((*why, *_all_missing(measures))))
    quality = Quality(seen, worst_grade(reasons), reasons, noise_deg=signals.noise_deg)
    evidence = evidence_of(recording, signals, head, found)
    return replace(
        blank(trial, quality), measures=tuple(measures), evidence=evidence, parts=(trial.id,)
    )


def _all_missing(measures: Sequence[Measure]) -> tuple[str, ...]:
    """The reasons of a trial in which no gain was had."""
    gains = [measure for measure in measures if measure.name == "gain"]
    if any(measure.value is not None for measure in gains):
        return ()
    return tuple(code for measure in gains for code in measure.why)


def _lag(found: Impulses) -> Estimate:
    return Estimate(1000.0 * found.lag_s)


def trial_reasons(
    trial: Trial, signals: Signals, found: Impulses, settings: ImpulseSettings
) -> tuple[str, ...]:
    """What holds for every number of the trial."""
    why = [
        *predictable(found.impulses, settings),
    ]
    near = number(trial.stimulus, "target_distance_m") < settings.near_m
    why += _scale_reasons(found, settings, near=near)
    if near:
        why.append("near_target")
    if signals.sampling_hz < settings.sampling_min_hz:
        why.append("sampled_slowly")
    if trial.outcome == "stopped":
        why.append("stopped_early")
    if trial.eye == "both" and recorded_eyes(trial) > len(signals.eyes):
        why.append("one_eye")
    return tuple(why)


def _scale_reasons(found: Impulses, settings: ImpulseSettings, *, near: bool) -> tuple[str, ...]:
    """Whether gains, or speeds, are those of a wrong sign, unit or scale."""
    used = [one for one in found.impulses if one.response and set(one.refused) <= {"impulse_noisy"}]
    peaks = [one.peak_deg_s for one in found.impulses]
    why = []
    if peaks and np.median(peaks) > settings.head_implausible_deg_s:
        why.append("head_scale_implausible")
    if not used:
        return tuple(why)
    gain = float(np.median([one.gain for one in used]))
    if gain < settings.wrong_way_gain:
        why.append("wrong_way")
    if gain > (settings.gain_implausible_near if near else settings.gain_implausible):
        why.append("eye_scale_implausible")
    held = [one.held_share for one in used if np.isfinite(one.held_share)]
    if held and gain >= settings.wrong_way_gain and np.median(held) < settings.held_share_min:
        why.append("target_not_reached")
    return tuple(why)


def _why_none(signals: Signals, found: Impulses, settings: ImpulseSettings) -> str:
    """Why a trial shows no impulse at all."""
    why = "other_plane" if found.off_plane > 0 else "no_impulses"
    return "head_scale_implausible" if _in_radians(signals, settings) else why


def _in_radians(signals: Signals, settings: ImpulseSettings) -> bool:
    """Whether the head's trace would hold impulses if it were rad/s read as deg/s."""
    scaled = replace(
        signals,
        head_deg_s=np.degrees(signals.head_deg_s),
        smooth_head_deg_s=np.degrees(signals.smooth_head_deg_s),
        head_noise_deg_s=float(np.degrees(signals.head_noise_deg_s)),
    )
    pushes = find_pushes(scaled, settings)
    fast = [push for push in pushes if push.peak_deg_s > settings.peak_min_deg_s]
    return len(fast) >= settings.few_impulses


def of_canal(
    make: Maker, found: Impulses, canal: str, settings: ImpulseSettings, *, blurred: bool = False
) -> list[Measure]:
    """Every measure of one canal; ``blurred`` if head velocity was had from its position."""
    given = found.of(canal)
    used = [one for one in given if one.accepted]
    counts = _counts(make, given, canal)
    if not used:
        nothing = "no_impulse_accepted" if given else "no_impulses"
        return [make("gain", NOTHING, "1", of=canal, definition="velocity_area", why=(nothing,)),
                *counts]  # fmt: skip
    why = canal_reasons(used, settings)
    return [
        *_gains(make, used, canal, why, blurred=blurred),
        _with(make, "gain_spread", spread_of(_values(used, "gain")), "1", canal, why),
        _slope(make, used, canal, why, settings),
        *counts,
        *_saccades(make, [one for one in used if one.watched], canal, why, settings),
    ]


def canal_reasons(used: Sequence[Impulse], settings: ImpulseSettings) -> tuple[str, ...]:
    """What holds for every number of one canal."""
    slow = float(np.median([one.peak_deg_s for one in used])) < settings.criterion_deg_s
    few = len(used) < settings.few_impulses
    why = (("few_impulses",) if few else (), ("impulses_below_criterion",) if slow else ())
    return tuple(code for codes in why for code in codes)


def _values(used: Sequence[Impulse], name: str) -> FloatArray:
    values = np.array([getattr(one, name) for one in used], dtype=float)
    return values[np.isfinite(values)]


def _with(
    make: Maker, name: str, estimate: Estimate, unit: str, canal: str, why: tuple[str, ...],
    *, definition: str | None = None, nothing: str = "few_impulses",
) -> Measure:  # fmt: skip
    """A measure of one canal; ``nothing`` is why it is missing, if it is."""
    reasons = why if estimate.value is not None else (nothing, *why)
    return make(name, estimate, unit, of=canal, definition=definition, why=reasons)


def _gains(
    make: Maker, used: Sequence[Impulse], canal: str, why: tuple[str, ...], *, blurred: bool
) -> list[Measure]:
    """The gain in each definition; a blurred head leaves its area alone, not its moments."""
    less = ("head_from_position", *why) if blurred else why
    return [
        _with(make, name, median_estimate(_values(used, field)), "1", canal,
              why if name == "gain" else less, definition=definition, nothing="head_back_before")
        for name, definition, field in GAINS
    ]  # fmt: skip


def _slope(
    make: Maker, used: Sequence[Impulse], canal: str, why: tuple[str, ...],
    settings: ImpulseSettings,
) -> Measure:  # fmt: skip
    """Change of gain for each 100 deg/s of head speed."""
    peak, gain = _values(used, "peak_deg_s") / PER_100_DEG_S, _values(used, "gain")
    estimate, nothing = NOTHING, "few_impulses"
    if peak.size >= settings.slope_impulses_min:
        nothing = "one_head_speed"
        if np.std(peak, ddof=1) * PER_100_DEG_S >= settings.slope_spread_deg_s:
            estimate = slope_estimate(peak, gain)
    return _with(make, "speed_slope", estimate, "1", canal, why,
                 definition="per_100_deg_s", nothing=nothing)  # fmt: skip


def _counts(make: Maker, given: Sequence[Impulse], canal: str) -> list[Measure]:
    """How many impulses took part, how many did not, and why they did not."""
    refused = [one for one in given if not one.accepted]
    codes = tuple(dict.fromkeys(code for one in refused for code in one.refused))
    used = len(given) - len(refused)
    peaks = np.array([one.peak_deg_s for one in given if one.accepted])
    speed = Estimate(float(np.median(peaks))) if peaks.size else NOTHING
    return [
        make("impulses", Estimate(float(used)), "1", of=canal),
        make("refused", Estimate(float(len(refused))), "1", of=canal, why=codes),
        _with(make, "head_speed", speed, "deg/s", canal, (), nothing="no_impulse_accepted"),
    ]


def _saccades(
    make: Maker, watched: Sequence[Impulse], canal: str, why: tuple[str, ...],
    settings: ImpulseSettings,
) -> list[Measure]:  # fmt: skip
    """Early and late corrective saccades: the first of each kind after each impulse."""
    measures: list[Measure] = []
    for sort in ("early", "late"):
        own = [[s for s in one.correcting if s.early == (sort == "early")] for one in watched]
        first = [made[0] for made in own if made]
        rough = ("known_roughly",) if len(first) < settings.few_saccades else ()
        share = share_estimate(len(first), len(watched))
        measures.append(
            _with(make, f"{sort}_saccades", share, "%", canal, why,
                  definition="share_of_impulses", nothing="saccades_not_watched")
        )  # fmt: skip
        nothing = "no_such_saccade" if watched else "saccades_not_watched"
        measures += _times_and_sizes(make, sort, first, canal, (*rough, *why), nothing)
    return measures


def _times_and_sizes(
    make: Maker, sort: str, first: Sequence[Saccade], canal: str, why: tuple[str, ...],
    nothing: str,
) -> list[Measure]:  # fmt: skip
    latency = 1000.0 * np.array([s.onset_s for s in first])
    size = np.array([s.amplitude_deg for s in first])
    rough = "known_roughly" in why
    scatter = NOTHING if rough else spread_of(latency)
    few = "few_saccades" if first else nothing
    return [
        _with(make, f"{sort}_latency", never_negative(median_estimate(latency)), "ms", canal, why,
              definition="from_head_start", nothing=nothing),
        _with(make, f"{sort}_amplitude", never_negative(median_estimate(size)), "deg", canal, why,
              nothing=nothing),
        _with(make, f"{sort}_scatter", scatter, "ms", canal, why,
              definition="sd_of_latency", nothing=few),
    ]  # fmt: skip
