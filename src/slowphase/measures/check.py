"""The check of chair and recorder: a known motion with an eye that is fixed.

With an eye fixed to the head, whatever the recorder shows is its own: noise, losses, slip. With an
eye fixed in the room the recorder must show minus the chair, later by the delay between the two
channels:

    −iω·E/H = g·exp(−iωd)

E is the amplitude of eye position, H that of chair velocity, cycle by cycle; g is the calibration.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from slowphase.eye.noise import position_noise_deg
from slowphase.eye.settings import EyeSettings
from slowphase.foundation.arrays import ComplexArray, FloatArray
from slowphase.foundation.reasons import worst_grade
from slowphase.measures.check_settings import CheckSettings
from slowphase.measures.cycles import cycle_amplitudes, whole_cycles
from slowphase.measures.interval import NOTHING, Z95, Estimate, Maker, symmetric, t_quantile
from slowphase.measures.measure import Measure
from slowphase.measures.pooling import combined
from slowphase.measures.prepare import blank, missing, number
from slowphase.measures.result import GroupResult, Quality, TrialResult
from slowphase.measures.settings import MeasureSettings
from slowphase.measures.weighted import weighted
from slowphase.recording.stimulus_check import check_stimulus
from slowphase.recording.trial import Recording, Trial

EYES = ("right", "left")
IN_THE_ROOM = "room"


@dataclass(frozen=True, slots=True)
class Chair:
    """The chair of one check: time and velocity (n,), commanded frequency (NaN for a spin) and
    speed (deg/s), and the whole cycles."""

    time_s: FloatArray
    velocity_deg_s: FloatArray
    frequency_hz: float
    commanded_deg_s: float
    cycles: list[slice]


def measure_check(trial: Trial, eye: EyeSettings, settings: MeasureSettings) -> TrialResult:
    """Delivered against commanded velocity, noise of both channels, and the eye of each side.

    Reasons: ``chair_differs``, ``late_eye_channel``, ``noisy_trace``, ``eye_sees_chair``,
    ``tracker_loses``, ``eye_gain_off``; ``too_short`` where there are too few whole cycles.
    Without any value: ``no_head_motion``, ``motion_not_told``, ``chair_frequency_differs``,
    ``chair_scale_implausible`` (the delivered velocity is shown); without delay:
    ``eye_not_in_room``, ``wrong_way``.
    """
    recording, limits, make = trial.recording, settings.battery.check, Maker(trial.id)
    if recording is None or recording.head_velocity_deg_s is None:
        return replace(blank(trial, Quality(0.0, "unusable", ("no_head_motion",))),
                       measures=tuple(no_check(make, "no_head_motion")))  # fmt: skip
    nonsense = motion_reason(trial, recording)
    if nonsense is not None:
        return replace(blank(trial, Quality(0.0, "unusable", (nonsense,))),
                       measures=tuple(no_check(make, nonsense)))  # fmt: skip
    chair = chair_of(recording, trial, limits)
    measures = [*chair_measures(make, chair, limits), *eye_measures(make, trial, chair, limits)]
    if any("chair_scale_implausible" in measure.why for measure in measures):
        measures = [of_another_unit(measure) for measure in measures]
    why = tuple(dict.fromkeys((*recording.why, *(code for m in measures for code in m.why))))
    return replace(blank(trial, Quality(100.0, worst_grade(why), why)),
                   measures=tuple(measures), parts=(trial.id,))  # fmt: skip


def of_another_unit(measure: Measure) -> Measure:
    """A measure that rests on a chair of an implausible scale: nothing but the noise of eyes does
    not; a delay is taken away, since it would be applied."""
    if measure.name not in ("chair_noise", "eye_gain", "delay", "eye_movement"):
        return measure
    why = tuple(dict.fromkeys((*measure.why, "chair_scale_implausible")))
    kept = replace(measure, why=why, grade=worst_grade(why))
    return replace(kept, value=None, low=None, high=None) if measure.name == "delay" else kept


def motion_reason(trial: Trial, recording: Recording) -> str | None:
    """Why the chair cannot be held against the trial's keys; None where it can."""
    told = trial.stimulus.keys()
    if not ({"frequency_hz", "peak_velocity_deg_s"} <= told or (
        "velocity_deg_s" in told and "frequency_hz" not in told
    )):  # fmt: skip
        return "motion_not_told"
    head = recording.head_velocity_deg_s
    if head is None:
        return None
    verdict = check_stimulus("check", trial.stimulus, recording.time_s, np.asarray(head))
    return None if verdict.contradiction is None else "chair_frequency_differs"


def no_check(make: Maker, why: str) -> list[Measure]:
    """The measures of a check without a recording."""
    return missing(make, [("delivered", "%"), ("chair_noise", "deg/s"), ("delay", "ms")], why)


def chair_of(recording: Recording, trial: Trial, limits: CheckSettings) -> Chair:
    """The chair's recorded motion, and what it was asked for."""
    head = np.nan_to_num(np.asarray(recording.head_velocity_deg_s))
    frequency = number(trial.stimulus, "frequency_hz")
    cycles = []
    if frequency > 0.0:
        cycles = whole_cycles(recording.time_s, head, frequency, limits.moving_share)
    key = "peak_velocity_deg_s" if frequency > 0.0 else "velocity_deg_s"
    return Chair(recording.time_s, head, frequency, number(trial.stimulus, key), cycles)


def chair_measures(make: Maker, chair: Chair, limits: CheckSettings) -> Iterator[Measure]:
    """Delivered velocity (% of the commanded) and the chair's own noise (deg/s)."""
    if chair.frequency_hz > 0.0:
        amplitudes, rest = cycle_amplitudes(
            chair.time_s, chair.velocity_deg_s, chair.frequency_hz, chair.cycles, limits.gap_share
        )
        speeds = np.abs(amplitudes)
    else:
        top = np.abs(chair.velocity_deg_s).max(initial=0.0)
        flat = np.abs(chair.velocity_deg_s) > limits.plateau_share * top
        speeds = np.abs(chair.velocity_deg_s[flat])
        rest = chair.velocity_deg_s[flat] - np.median(chair.velocity_deg_s[flat])
        speeds = block_means(speeds, limits.cycles_min)
    delivered = spread(100.0 * speeds / chair.commanded_deg_s, limits)
    yield make("delivered", delivered, "%", definition="of_commanded",
               why=delivered_reasons(delivered, limits))  # fmt: skip
    noise = float(np.nanstd(rest)) if np.isfinite(rest).any() else None
    yield make("chair_noise", Estimate(noise), "deg/s", definition="beside_the_motion",
               why=() if noise is not None else ("too_short",))  # fmt: skip


def delivered_reasons(delivered: Estimate, limits: CheckSettings) -> tuple[str, ...]:
    """Whether the chair is off, or off so far that it is another unit."""
    value = delivered.value
    if value is not None and not limits.delivered_low_pct <= value <= limits.delivered_high_pct:
        return ("chair_scale_implausible",)
    return why_of(delivered, "chair_differs", 100.0, limits.delivered_tolerance_pct)


def block_means(values: FloatArray, count: int) -> FloatArray:
    """Means of ``count`` equal parts, whose spread gives an interval."""
    parts = [part for part in np.array_split(values, count) if part.size]
    return np.array([float(np.mean(part)) for part in parts])


def eye_measures(
    make: Maker, trial: Trial, chair: Chair, limits: CheckSettings
) -> Iterator[Measure]:
    """Noise, losses, and gain with delay (fixed in the room) or movement (fixed to the head)."""
    channels = trial.recording.channels if trial.recording else {}
    for eye in EYES:
        position = channels.get(f"eye_h_{eye}")
        if position is None:
            continue
        noise = position_noise_deg(position)
        loud = ("noisy_trace",) if noise > limits.noise_max_deg else ()
        yield make("noise", Estimate(noise), "deg", of=eye, definition="white", why=loud)
        lost = 100.0 * float(np.mean(~np.isfinite(position)))
        losing = ("tracker_loses",) if lost > limits.lost_max_pct else ()
        yield make("lost", Estimate(lost, lost, lost), "%", of=eye, why=losing)
        transfer = transfers(position, chair, limits)
        if trial.stimulus.get("eye_fixed_to") == IN_THE_ROOM:
            yield from room_measures(make, eye, transfer, chair, limits)
        else:
            yield movement(make, eye, transfer, limits)


def transfers(position: FloatArray, chair: Chair, limits: CheckSettings) -> ComplexArray:
    """−(eye velocity)/(chair velocity) of each cycle, complex, shape (c,)."""
    if not chair.frequency_hz > 0.0:
        return np.array([], dtype=complex)
    share = (chair.time_s, chair.frequency_hz, chair.cycles, limits.gap_share)
    eye = cycle_amplitudes(share[0], position, *share[1:])[0]
    head = cycle_amplitudes(share[0], chair.velocity_deg_s, *share[1:])[0]
    return np.asarray(-2j * np.pi * chair.frequency_hz * eye / head)


def room_measures(
    make: Maker, eye: str, transfer: ComplexArray, chair: Chair, limits: CheckSettings
) -> Iterator[Measure]:
    """Gain (1 where the calibration is right) and delay of an eye that is fixed in the room."""
    gain = spread(np.abs(transfer), limits)
    nonsense = room_reasons(gain, transfer, chair, limits)
    off = gain.value is not None and not limits.eye_gain_low <= gain.value <= limits.eye_gain_high
    why = nonsense or (("eye_gain_off",) if off else why_of(gain))
    yield make("eye_gain", gain, "1", of=eye, definition="room_fixed", why=why)
    if nonsense:
        yield make("delay", NOTHING, "ms", of=eye, definition="eye_after_chair", why=nonsense)
        return
    turn = -np.angle(transfer) / (2 * np.pi * chair.frequency_hz)
    delay = spread(1e3 * turn, limits, limits.delay_error_min_ms)
    late = why_of(delay, "late_eye_channel", 0.0, limits.delay_max_ms)
    rough = delay.value is not None and (delay.high or 0.0) - delay.value > (
        2.0 * limits.delay_error_max_ms
    )
    yield make("delay", NOTHING if rough else delay, "ms", of=eye, definition="eye_after_chair",
               why=("not_identifiable",) if rough else late)  # fmt: skip


def room_reasons(
    gain: Estimate, transfer: ComplexArray, chair: Chair, limits: CheckSettings
) -> tuple[str, ...]:
    """Why an eye tells no delay: a spin has none, the eye was not in the room, or is reversed."""
    if not chair.frequency_hz > 0.0:
        return ("not_identifiable",)
    if gain.value is None:
        return ()
    if gain.value < limits.in_the_room_min:
        return ("eye_not_in_room",)
    return ("wrong_way",) if float(np.nansum(np.real(transfer))) < 0.0 else ()


def movement(make: Maker, eye: str, transfer: ComplexArray, limits: CheckSettings) -> Measure:
    """What a head-fixed eye seems to move, as a share (%) of the chair."""
    known = transfer[np.isfinite(transfer)]
    moved = spread(100.0 * np.real(transfer * np.exp(-1j * np.angle(known.sum()))), limits)
    why = why_of(moved, "eye_sees_chair", 0.0, limits.movement_max_pct)
    return make("eye_movement", moved, "%", of=eye, definition="of_the_chair", why=why)


def spread(values: FloatArray, limits: CheckSettings, least_error: float = 0.0) -> Estimate:
    """Mean of the cycles with the interval that their spread gives; nothing where they are few."""
    known = values[np.isfinite(values)]
    if known.size < limits.cycles_min:
        return NOTHING
    error = float(np.hypot(np.std(known, ddof=1) / known.size**0.5, least_error))
    return symmetric(float(np.mean(known)), error, t_quantile(known.size - 1.0))


def why_of(
    found: Estimate, code: str = "", right: float = 0.0, tolerance: float = np.inf
) -> tuple[str, ...]:
    """The reason of a value that is missing, or too far from what would be right."""
    if found.value is None:
        return ("too_short",)
    return (code,) if abs(found.value - right) > tolerance else ()


def check_group(
    results: tuple[TrialResult, ...], settings: MeasureSettings
) -> tuple[GroupResult, ...]:
    """The delay of the eye channel over all trials and both eyes, weighed by inverse variance.

    Where they differ by more than their intervals allow, the interval is widened by that.
    """
    checks = [r for r in results if r.kind == "check"]
    delays = [m for r in checks for m in r.measures if m.name == "delay" and m.value is not None]
    if not delays:
        return ()
    pooled = widened(combined(delays), delays, settings.battery.check.delay_error_min_ms)
    pooled = replace(pooled, id="check/delay", of=None)
    return (GroupResult("check", "check", tuple(r.id for r in checks), (pooled,)),)


def widened(pooled: Measure, delays: list[Measure], least_error: float) -> Measure:
    """The pooled delay with an interval that holds how much the delays differ."""
    errors = [max((m.high or 0.0) - (m.value or 0.0), 1e-9) / Z95 for m in delays]
    mean = weighted([m.value or 0.0 for m in delays], errors)
    value, reach = mean.value, Z95 * max(mean.widened, least_error)
    return replace(pooled, low=value - reach, high=value + reach)
